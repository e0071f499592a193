import { type ImportKind, type ImportRun, Imports } from '../../src/exchange/index.js';
import { type Actor, SYSTEM } from '../../src/identity/index.js';
import type { TestApp } from './app.js';

export async function* pieces(...parts: readonly (string | Uint8Array)[]): AsyncGenerator<Uint8Array> {
  for (const part of parts) yield typeof part === 'string' ? Buffer.from(part, 'utf8') : part;
}

export function importsOf({ app }: Pick<TestApp, 'app'>): Imports {
  return app.get(Imports, { strict: false });
}

/** Hands a file in. */
export async function handIn(
  test: Pick<TestApp, 'app' | 'salon'>,
  kind: ImportKind,
  text: string | Uint8Array,
  settings: Record<string, unknown> = {},
  actor: Actor = SYSTEM,
): Promise<ImportRun> {
  const imports = importsOf(test);
  const run = await imports.upload(
    test.salon.id,
    { kind },
    { name: 'sheet.csv', bytes: pieces(text) },
    actor,
  );
  return Object.keys(settings).length === 0 ? run : await imports.setUp(run.id, settings, actor);
}

/** Outcome and words of every row. */
export async function linesOf(test: Pick<TestApp, 'app'>, id: string) {
  const { lines } = await importsOf(test).report(id, { limit: 1000 }, SYSTEM);
  return lines;
}

/** Hands a file in, works it through, and gives back what became of each row. */
export async function importAll(
  test: Pick<TestApp, 'app' | 'salon'>,
  kind: ImportKind,
  text: string | Uint8Array,
  settings: Record<string, unknown> = {},
  pass: 'check' | 'run' = 'run',
) {
  const { id } = await handIn(test, kind, text, settings);
  const run = await importsOf(test).runThrough(id, pass, SYSTEM);
  return { run, lines: await linesOf(test, id) };
}
