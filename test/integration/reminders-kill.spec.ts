import { describe, expect, it } from '@jest/globals';
import { USUAL_POLICY } from '../../src/reminders/index.js';
import { openRedis } from '../factories/reminders-drivers.js';
import { killThrough } from '../factories/reminders-kill.js';

/** `KILL_MESSAGES=10000 REDIS_AWAY_MS=30000` is the long run, which takes the better part of an hour. */
const MESSAGES = Number(process.env['KILL_MESSAGES'] ?? 48);
const REDIS_AWAY_MS = Number(process.env['REDIS_AWAY_MS'] ?? 1_000);
const PATIENCE_MS = 240_000 + MESSAGES * 500;

/** More in a long run: a process takes longer to start than to be killed, and others must work meanwhile. */
const WORKERS = MESSAGES > 1_000 ? 4 : 2;

const SETUP = { messages: MESSAGES, workers: WORKERS, meanLifeMs: 200, random: Math.random };

function expectNoneLost(report: Awaited<ReturnType<typeof killThrough>>): void {
  if (MESSAGES > 1_000) process.stdout.write(`${JSON.stringify(report)}\n`);
  expect(report).toMatchObject({ lost: 0, unknown: 0, unexplained: [] });
  expect(report.kills).toBeGreaterThan(0);
  // So many can be between "250" and our record when a process is killed.
  expect(report.doubled).toBeLessThanOrEqual(report.kills * USUAL_POLICY.atOnce);
}

/* Real processes, a real SMTP server, SIGKILL. */
describe('workers that are killed at any moment', () => {
  it(
    'lose nothing and double only what was cut off, on the embedded driver',
    async () => {
      expectNoneLost(await killThrough(SETUP));
    },
    PATIENCE_MS,
  );

  it(
    'lose nothing and double only what was cut off, through a Redis that is stopped and emptied meanwhile',
    async () => {
      const redis = await openRedis();
      try {
        const midway = async () => {
          await redis.stop();
          await new Promise((later) => setTimeout(later, REDIS_AWAY_MS));
          await redis.start();
        };
        expectNoneLost(await killThrough({ ...SETUP, redisUrl: redis.url, midway }));
      } finally {
        await redis.close();
      }
    },
    PATIENCE_MS,
  );
});
