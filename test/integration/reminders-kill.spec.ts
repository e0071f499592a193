import { describe, expect, it } from '@jest/globals';
import { USUAL_POLICY } from '../../src/reminders/index.js';
import { openRedis } from '../factories/reminders-drivers.js';
import { killThrough } from '../factories/reminders-kill.js';

const PATIENCE_MS = 240_000;

const SETUP = { messages: 80, workers: 2, meanLifeMs: 200, random: Math.random };

function expectNoneLost(report: Awaited<ReturnType<typeof killThrough>>): void {
  expect(report).toMatchObject({ lost: 0, unknown: 0, unexplained: [] });
  expect(report.kills).toBeGreaterThan(0);
  // So many can be between "250" and our record when a process is killed.
  expect(report.doubled).toBeLessThanOrEqual(report.kills * USUAL_POLICY.atOnce);
}

/*
 * Real processes, a real SMTP server, SIGKILL. `npm run bench` does the same with more messages and prints how many
 * were doubled.
 */
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
          await new Promise((later) => setTimeout(later, 1_000));
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
