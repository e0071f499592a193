import { spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as later } from 'node:timers/promises';
import { projectRoot } from '../../src/base/index.js';
import { freePort } from '../factories/reminders-drivers.js';
import { processMs } from './processor.js';

const KIB_TO_MB = 1 / 1024;
/** Collects garbage when it is told to (by a signal that no server stops at), so that what is held is measured and not what lies about. */
const COLLECTS = `data:text/javascript,process.on('SIGWINCH',()=>{globalThis.gc();globalThis.gc()})`;

/** What `npm start` says to Node. */
export function usualFlags(): string[] {
  const { scripts } = JSON.parse(readFileSync(join(projectRoot(), 'package.json'), 'utf8')) as {
    scripts: { start: string };
  };
  return scripts.start.split(' ').filter((word) => word.startsWith('--'));
}

export type BenchServer = {
  readonly pid: number;
  readonly url: string;
  /** From the start of the process to its first answer. */
  readonly startWallMs: number;
  readonly startProcessorMs: number;
  /** Memory that is resident after garbage was collected, and the share of it that is its own, in MB. */
  memory(): Promise<{ readonly residentMb: number; readonly ownMb: number }>;
  stop(): Promise<void>;
};

/** Starts the built product, or with `script` (a path inside dist) another program that answers at PORT, and waits until it says that it is ready. */
export async function startServer(env: NodeJS.ProcessEnv, script?: string): Promise<BenchServer> {
  const started = script === undefined ? [...usualFlags(), 'dist/src/main.js'] : [`dist/${script}`];
  const port = await freePort();
  const begun = performance.now();
  const child = spawn(process.execPath, ['--expose-gc', '--import', COLLECTS, ...started], {
    cwd: projectRoot(),
    stdio: ['ignore', 'ignore', 'inherit'],
    env: { PATH: process.env['PATH'], ...env, PORT: `${port}` },
  });
  const { pid = 0 } = child;
  const url = `http://127.0.0.1:${port}`;
  for (;;) {
    if (child.exitCode !== null) throw new Error(`${started.at(-1)} ended before it answered.`);
    const answer = await fetch(`${url}/health/ready`).catch(() => undefined);
    if (answer?.ok) break;
    await later(5);
  }
  const startWallMs = performance.now() - begun;
  return {
    pid,
    url,
    startWallMs,
    startProcessorMs: processMs(pid),
    memory: async () => {
      child.kill('SIGWINCH');
      await later(500);
      const text = readFileSync(`/proc/${pid}/smaps_rollup`, 'utf8');
      const mb = (name: string) =>
        Number(new RegExp(`^${name}: +(\\d+) kB`, 'm').exec(text)?.[1]) * KIB_TO_MB;
      return { residentMb: mb('Rss'), ownMb: mb('Private_Dirty') + mb('Private_Clean') };
    },
    stop: async () => {
      const gone = new Promise((exited) => child.once('exit', exited));
      child.kill('SIGTERM');
      await gone;
    },
  };
}
