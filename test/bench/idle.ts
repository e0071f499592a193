import { openTestStore } from '../factories/salon.js';
import { servingOf } from './page.js';
import { type BenchOptions, type BenchRow, median, spreadRow } from './row.js';
import { startServer } from './server.js';

const MOST_MEMORY = 1.6;
/** Of a bare application's start: ours opens a database, looks through routes and hooks, compiles some 400 modules. */
const MOST_START = 4;

/**
 * The product on a migrated, empty database beside a NestJS application on Fastify that does nothing, by turns: from the
 * start of the process to the first answer, and what it holds when nobody asks anything.
 */
export async function benchIdle({ quick }: BenchOptions): Promise<BenchRow[]> {
  const rounds = quick ? 1 : 5;
  const store = await openTestStore();
  try {
    const look = async (env: NodeJS.ProcessEnv, script?: string) => {
      const server = await startServer(env, script);
      const { startWallMs, startProcessorMs } = server;
      const memory = await server.memory();
      await server.stop();
      return { startWallMs, startProcessorMs, ...memory };
    };
    type Look = Awaited<ReturnType<typeof look>>;
    const pairs: { readonly bare: Look; readonly ours: Look }[] = [];
    // The first round only fills the caches of the file system.
    for (let round = 0; round <= rounds; round += 1) {
      const bare = await look({}, 'test/bench/bare-app.js');
      const ours = await look(servingOf(store));
      if (round > 0) pairs.push({ bare, ours });
    }
    const of = (what: keyof Look, whose: 'bare' | 'ours') => pairs.map((pair) => pair[whose][what]);
    const ratio = (what: keyof Look) => pairs.map(({ bare, ours }) => ours[what] / bare[what]);
    const beside = (what: keyof Look, unit: string) =>
      ` (${median(of(what, 'ours')).toFixed(0)} / ${median(of(what, 'bare')).toFixed(0)} ${unit})`;
    return [
      spreadRow(
        `idle memory / bare NestJS on Fastify${beside('residentMb', 'MB')}`,
        ratio('residentMb'),
        'ratio',
        MOST_MEMORY,
      ),
      spreadRow(`  of it shared with nobody${beside('ownMb', 'MB')}`, ratio('ownMb'), 'ratio'),
      spreadRow(
        `start to first answer / bare, processor time${beside('startProcessorMs', 'ms')}`,
        ratio('startProcessorMs'),
        'ratio',
        MOST_START,
      ),
      spreadRow(`  by the clock${beside('startWallMs', 'ms')}`, ratio('startWallMs'), 'ratio'),
    ];
  } finally {
    await store.close();
  }
}
