import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import rateLimitPlugin from '@fastify/rate-limit';
import { afterAll, afterEach, beforeAll, describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import fastify from 'fastify';
import { rateLimits } from '../../src/http/rate-limits.js';
import { SharedSlowdown } from '../../src/identity/shared-slowdown.js';
import { Slowdown } from '../../src/identity/slowdown.js';
import { WrongPins } from '../../src/identity/wrong-pins.js';
import { Reader, readSettings, secretFor, Turns, UnitOfWork } from '../../src/store/index.js';
import { SharedByRedis } from '../../src/store/shared.js';
import { openRedis, type TestRedis } from '../factories/reminders-drivers.js';
import { openTestStore, type TestStore } from '../factories/salon.js';
import { until } from '../factories/until.js';

const RULES = { free: 3, firstMs: 1000, mostMs: 60_000, forgetMs: 3_600_000 };

describe('what processes share through Redis', () => {
  let redis: TestRedis;
  const open: SharedByRedis[] = [];

  /** One process's view, connected. */
  const aProcess = async (): Promise<SharedByRedis> => {
    const shared = new SharedByRedis(redis.url);
    open.push(shared);
    await until(async () => (await shared.ask((it) => it.ping())) === 'PONG');
    return shared;
  };

  beforeAll(async () => {
    redis = await openRedis();
  });

  afterEach(async () => {
    for (const shared of open.splice(0)) await shared.close();
  });

  afterAll(() => redis.close());

  it('counts what a token may ask in a minute together, and tells in each answer what is left', async () => {
    const settings = readSettings({ API_PER_MINUTE: '5', STRANGERS_PER_MINUTE: '2' });
    const servers = await Promise.all(
      [await aProcess(), await aProcess()].map(async (shared) => {
        const server = fastify();
        await server.register(rateLimitPlugin, { global: false, redis: shared.redis });
        const counts = rateLimits(server, settings);
        server.addHook('onRequest', async (request, reply) => {
          const token = request.headers.authorization;
          if (token !== undefined) {
            request.sessionToken = token;
            request.principal = {
              accountId: 'a',
              name: 'A',
              email: 'a@example.org',
              role: 'owner',
              via: 'token',
            };
          }
          await counts(request, reply);
        });
        server.get('/api/v1/x', async () => 'x');
        return server;
      }),
    );
    const ask = async (i: number, token?: string): Promise<Record<string, unknown>> => {
      const headers = token === undefined ? {} : { authorization: token };
      const answer = await servers[i % 2]!.inject({ url: '/api/v1/x', headers });
      return {
        status: answer.statusCode,
        code: answer.statusCode === 200 ? '' : answer.json().code,
        ...answer.headers,
      };
    };
    for (let i = 0; i < 5; i += 1) {
      const answer = await ask(i, 'one');
      expect(answer).toMatchObject({ status: 200, 'ratelimit-policy': '"api";q=5;w=60' });
      expect(answer['ratelimit']).toMatch(new RegExp(`^"api";r=${4 - i};t=(60|5\\d)$`));
    }
    expect(await ask(0, 'one')).toMatchObject({ code: 'REQUESTS.TOO_MANY' });
    expect(await ask(1, 'one')).toMatchObject({ code: 'REQUESTS.TOO_MANY' });
    // Another token, and a stranger at the same address, are counted apart.
    expect(await ask(0, 'other')).toMatchObject({ status: 200 });
    expect(await ask(0)).toMatchObject({ status: 200, 'ratelimit-policy': '"strangers";q=2;w=60' });
    for (const server of servers) await server.close();
  });

  it('counts attempts for all of them as one process alone would', async () => {
    const processes = [await aProcess(), await aProcess()];
    const step = fc.record({
      act: fc.constantFrom('begin', 'begin', 'begin', 'undo', 'clear'),
      who: fc.nat(1),
      waitMs: fc.oneof(fc.nat(90_000), fc.constant(RULES.forgetMs)),
    } as const);
    let run = 0;
    await fc.assert(
      fc.asyncProperty(fc.array(step, { maxLength: 30 }), async (steps) => {
        run += 1;
        const together = processes.map((shared) => new SharedSlowdown(shared, `run ${run}`, RULES));
        const alone = new Slowdown(RULES);
        let now = 1_780_000_000_000;
        for (const { act, who, waitMs } of steps) {
          now += waitMs;
          const waits = await together[who]![act]('k', now);
          const wanted = alone[act]('k', now);
          expect(waits).toBe(wanted);
        }
      }),
      { numRuns: 60 },
    );
  });

  it('gives twenty guesses at once in two processes no more than the free ones and one', async () => {
    const [one, other] = [await aProcess(), await aProcess()];
    const slowdowns = [one, other].map((shared) => new SharedSlowdown(shared, 'at once', RULES));
    const waits = await Promise.all(Array.from({ length: 20 }, (_, i) => slowdowns[i % 2]!.begin('k', 0)));
    expect(waits.filter((waitMs) => waitMs === 0)).toHaveLength(RULES.free + 1);
  });

  it('counts wrong PINs of one desk in all of them', async () => {
    const pins = [new WrongPins(await aProcess()), new WrongPins(await aProcess())];
    const counts = await Promise.all(Array.from({ length: 6 }, (_, i) => pins[i % 2]!.count('desk')));
    expect([...counts].sort()).toEqual([1, 2, 3, 4, 5, 6]);
    await pins[0]!.forget('desk');
    expect(await pins[1]!.count('desk')).toBe(1);
  });

  it('carries news to every process, its own included, and tells of a gap after Redis was away', async () => {
    const [one, other] = [await aProcess(), await aProcess()];
    const heard: [string, string | undefined][] = [];
    one.subscribe('book', (message) => heard.push(['one', message]));
    other.subscribe('book', (message) => heard.push(['other', message]));
    const listening = async () => (await one.ask((it) => it.pubsub('NUMSUB', 'halfinch:book')))?.[1] === 2;
    await until(listening);
    one.publish('book', 'first');
    await until(() => heard.length === 2);
    expect([...heard].sort()).toEqual([
      ['one', 'first'],
      ['other', 'first'],
    ]);
    heard.length = 0;
    await redis.stop();
    await until(async () => (await one.ask((it) => it.ping())) === undefined);
    one.publish('book', 'alone');
    await until(() => heard.length === 1);
    expect(heard).toEqual([['one', 'alone']]);
    await redis.start();
    await until(() => heard.filter(([, message]) => message === undefined).length === 2);
    await until(listening);
    // The line it speaks on comes back by itself, not with the one it hears on.
    await until(async () => (await other.ask((it) => it.ping())) === 'PONG');
    other.publish('book', 'together again');
    await until(() => heard.filter(([, message]) => message === 'together again').length === 2);
  });

  it('slows guesses down for each process alone while Redis is away', async () => {
    const slowdown = new SharedSlowdown(await aProcess(), 'away', RULES);
    await redis.stop();
    const waits: number[] = [];
    for (let i = 0; i < 5; i += 1) waits.push(await slowdown.begin('k', 0));
    await redis.start();
    expect(waits).toEqual([0, 0, 0, 0, 1000]);
  });
});

describe('work that comes round', () => {
  let store: TestStore;

  beforeAll(async () => {
    store = await openTestStore();
  });

  afterAll(() => store.close());

  it('is one caller’s at a time, whoever asks and however many at once', async () => {
    const { units, reader, clock, sources } = store;
    const others = Array.from({ length: 7 }, () => new Turns(units, reader, clock));
    const all = [new Turns(new UnitOfWork(sources.writer), new Reader(sources.reader), clock), ...others];
    const takers = async () => {
      const took = await Promise.all(all.slice(1).map((turns) => turns.take('upkeep', 60_000)));
      return took.filter(Boolean).length;
    };
    expect(await takers()).toBe(1);
    clock.at += 59_999;
    expect(await takers()).toBe(0);
    expect(await all[0]!.take('something else', 60_000)).toBe(true);
    clock.at += 1;
    expect(await takers()).toBe(1);
  });

  it('goes on after a clock that was wrong took a turn in the future', async () => {
    const turns = new Turns(store.units, store.reader, store.clock);
    store.clock.at += 365 * 86_400_000;
    expect(await turns.take('ahead', 60_000)).toBe(true);
    store.clock.at -= 365 * 86_400_000;
    expect(await turns.take('ahead', 60_000)).toBe(true);
    expect(await turns.take('ahead', 60_000)).toBe(false);
  });
});

describe('secrets of the installation', () => {
  const SECRET = 'an invented secret of more than thirty-two characters';

  it('are the same in every process that was given the same, and different for each purpose', () => {
    const [here, there] = ['/srv/one', '/srv/other'].map((folder) =>
      readSettings({ HALFINCH_DATA: folder, HALFINCH_SECRET: SECRET }),
    );
    expect(secretFor(here!, 'cookies')).toBe(secretFor(there!, 'cookies'));
    expect(secretFor(here!, 'cookies')).toMatch(/^[0-9a-f]{64}$/);
    expect(secretFor(here!, 'cookies')).not.toBe(secretFor(here!, 'links'));
  });

  it('are refused when they are too short', () => {
    expect(() => readSettings({ HALFINCH_SECRET: 'short' })).toThrow(
      'HALFINCH_SECRET must have at least 32 characters.',
    );
  });

  it('are kept in the data folder where none is given', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'halfinch-secrets-'));
    const settings = readSettings({ HALFINCH_DATA: folder });
    const first = secretFor(settings, 'links');
    expect(first).toMatch(/^[0-9a-f]{64}$/);
    expect(secretFor(settings, 'links')).toBe(first);
    await rm(folder, { recursive: true });
  });
});
