import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, jest } from '@jest/globals';
import { Queue } from 'bullmq';
import { MessageFeeder } from '../../src/jobs/message-feeder.js';
import { MessageWorker } from '../../src/jobs/message-worker.js';
import { DELIVERIES } from '../../src/jobs/queue-name.js';
import { Dispatcher, Message } from '../../src/reminders/index.js';
import { MessageLeases } from '../../src/reminders/message-leases.js';
import { signature } from '../../src/reminders/signature.js';
import { connectRedis } from '../../src/store/index.js';
import { EVENT_TYPES, sweepDeliveries } from '../../src/webhooks/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { openRedis } from '../factories/reminders-drivers.js';
import { Jar, openSession } from '../factories/security.js';
import { until } from '../factories/until.js';
import { type Heard, Hooks, isVerified, webhookDispatcherOf } from '../factories/webhooks.js';

jest.setTimeout(120_000);

type Json = ReturnType<typeof JSON.parse>;
const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;

const MAIL_REPORT_SECRET = 'told of returned mail';

let test: TestApp;
let hooks: Hooks;
beforeAll(async () => {
  test = await startTestApp('2026-06-01T08:00:00Z', {
    WEBHOOKS_ALLOW_PRIVATE: '1',
    MAIL_REPORT_SECRET,
  });
  hooks = new Hooks(test);
});
afterAll(() => test.close());
beforeEach(() => hooks.begin());
afterEach(() => hooks.end());

describe('webhooks over the API', () => {
  it('are the owner’s, and refuse what is no address or no event', async () => {
    const input = { url: `${hooks.receiver.url}/hook`, events: ['halfinch.client.added'] };
    expect((await hooks.ask('desk', 'POST', 'webhooks', input)).status).toBe(403);
    for (const [change, code, field] of [
      [{ url: 'hook' }, 'WEBHOOK.ADDRESS', 'url'],
      [{ url: 'https://mara:x@example.org' }, 'WEBHOOK.ADDRESS', 'url'],
      [{ events: [] }, 'INPUT.INVALID', 'events'],
      [{ events: ['halfinch.client.sung'] }, 'INPUT.INVALID', 'events'],
      [{ colour: 'red' }, 'INPUT.INVALID', 'colour'],
    ] as const) {
      const refused = await hooks.ask('owner', 'POST', 'webhooks', { ...input, ...change });
      expect(refused).toMatchObject({ status: 422, body: { code, fields: [{ field }] } });
    }
    expect((await hooks.ask('owner', 'GET', 'webhooks')).body).toMatchObject({
      webhooks: [],
      events: EVENT_TYPES,
    });
  });

  it('show their secret once, sign with both for a day after a new one, and send a test also when off', async () => {
    const { id, secret } = await hooks.add({ active: false });
    expect(secret).toMatch(/^whsec_/);
    const shown = await hooks.ask('owner', 'GET', `webhooks/${id}`);
    expect(JSON.stringify(shown.body)).not.toMatch(/secret|whsec/i);
    const [row] = await test.reader.manager.query(`SELECT secret FROM webhook WHERE id = '${id}'`);
    expect(JSON.stringify(row)).not.toContain(secret);
    const { secret: next } = (await hooks.ask('owner', 'POST', `webhooks/${id}/secret`)).body;
    const send = async () => {
      expect((await hooks.ask('owner', 'POST', `webhooks/${id}/test`)).status).toBe(201);
      await webhookDispatcherOf(test).deliverDue();
      return hooks.receiver.heard.at(-1)!;
    };
    const accepts = (one: string, heard: Heard) => isVerified(one, heard, test.clock.now());
    const first = await send();
    expect(JSON.parse(first.body).type).toBe('halfinch.webhook.test');
    expect([secret, next].map((one) => accepts(one, first))).toEqual([true, true]);
    test.clock.at += DAY_MS;
    const later = await send();
    expect([secret, next].map((one) => accepts(one, later))).toEqual([false, true]);
    hooks.receiver.manner = { answers: 500 };
    await send();
    const { deliveries } = (await hooks.ask('owner', 'GET', `webhooks/${id}/deliveries`)).body;
    expect(deliveries.map(({ state }: Json) => state)).toEqual(['failed', 'sent', 'sent']);
    expect((await hooks.standing(id)).failingSince).toBeNull();
  });

  it('refuse a stale change, another salon’s and more than twenty; forget after thirty days', async () => {
    const { id } = await hooks.add();
    const change = { events: ['halfinch.client.added'], expectedVersion: 1 };
    expect(
      (await hooks.ask('owner', 'POST', `webhooks/${id}/change`, change)).body.webhook.events,
    ).toHaveLength(1);
    expect(await hooks.ask('owner', 'POST', `webhooks/${id}/change`, change)).toMatchObject({
      status: 409,
      body: { code: 'WEBHOOK.STALE' },
    });
    const none = '00000000-0000-7000-8000-000000000000';
    expect((await hooks.ask('owner', 'POST', `webhooks/${none}/test`)).status).toBe(404);
    await Promise.all(Array.from({ length: 19 }, () => hooks.add()));
    const input = { url: hooks.receiver.url, events: EVENT_TYPES };
    expect(await hooks.ask('owner', 'POST', 'webhooks', input)).toMatchObject({
      status: 409,
      body: { code: 'WEBHOOK.MANY' },
    });
    await hooks.ask('owner', 'POST', `webhooks/${id}/test`);
    await webhookDispatcherOf(test).deliverDue();
    test.clock.at += 31 * DAY_MS;
    await sweepDeliveries(test.units, test.clock.now());
    expect(await hooks.deliveries()).toEqual([]);
  });

  it('leave nothing of a failed message untold', async () => {
    const { id } = await hooks.add({ events: ['halfinch.message.failed'] });
    const clientId = await hooks.addClient('Unwritten');
    const leases = test.app.get(MessageLeases, { strict: false });
    await hooks.book(clientId, '2026-08-20', '10:00');
    await hooks.ask('desk', 'PUT', `clients/${clientId}`, { email: 'u@example.org', expectedVersion: 1 });
    await hooks.book(clientId, '2026-08-21', '10:00');
    const message = await test.reader.manager.findOneByOrFail(Message, { clientId, state: 'owed' });
    test.clock.at = message.dueAt;
    const held = await leases.takeOne(message.id, 1000);
    if (!('message' in held)) throw new Error('It is not due.');
    expect(await leases.recordFailed(held.message, 'No such mailbox', null)).toBe(true);
    await webhookDispatcherOf(test).deliverDue();
    expect(hooks.receiver.events).toMatchObject([
      { type: 'halfinch.message.failed', subject: `messages/${message.id}`, data: { clientId } },
    ]);
    expect((await hooks.standing(id)).active).toBe(true);
  });

  it('tell of a mail that came back after it was sent, once', async () => {
    await hooks.add({ events: ['halfinch.message.failed'] });
    const clientId = await hooks.addClient('Returned');
    await hooks.ask('desk', 'PUT', `clients/${clientId}`, { email: 'r@example.org', expectedVersion: 1 });
    await hooks.book(clientId, '2026-08-27', '10:00');
    await test.app.get(Dispatcher, { strict: false }).deliverDue();
    const message = await test.reader.manager.findOneByOrFail(Message, { clientId, state: 'sent' });
    const report = { id: `${message.id}@localhost`, status: 'bounced' };
    for (let i = 0; i < 2; i += 1) {
      const answer = await test.app.inject({
        method: 'POST',
        url: '/api/v1/mails/reports',
        headers: {
          'x-halfinch-signature': signature(MAIL_REPORT_SECRET, test.clock.now(), Object.values(report)),
        },
        payload: report,
      });
      expect(answer.statusCode).toBe(200);
    }
    await webhookDispatcherOf(test).deliverDue();
    expect(hooks.receiver.events).toMatchObject([{ subject: `messages/${message.id}`, data: { clientId } }]);
  });
});

describe('the page of programs that are told', () => {
  let owner: Jar;
  const post = async (path: string, form: Record<string, string> = {}) =>
    await owner.ask('POST', path, { _csrf: await owner.csrf('/settings/webhooks'), ...form });
  beforeAll(async () => {
    owner = new Jar(test.app);
    owner.set('halfinch', await openSession(test.app, 'owner'));
  });

  it('adds one, shows its secret once, tests it, shows what failed and tries that again, and removes it', async () => {
    const form = { url: `${hooks.receiver.url}/hook`, 'event.halfinch.client.added': 'true' };
    const made = await post('/settings/webhooks', form);
    expect(made.statusCode).toBe(200);
    const [, secret = ''] = /<code class="words">whsec_([^<]+)</.exec(made.body) ?? [];
    expect(Buffer.from(secret.replaceAll('&#x3D;', '='), 'base64')).toHaveLength(32);
    const [{ id }] = (await hooks.ask('owner', 'GET', 'webhooks')).body.webhooks;
    const path = `/settings/webhooks/${id}`;
    expect((await owner.ask('GET', path)).body).not.toContain('whsec_');

    hooks.receiver.manner = { answers: 500 };
    expect((await post(`${path}/test`)).headers.location).toBe(path);
    await webhookDispatcherOf(test).deliverDue();
    const failed = await owner.ask('GET', path);
    expect(failed.body).toContain('It answered 500.');
    const [, action = ''] = /action="([^"]+\/retry)"/.exec(failed.body) ?? [];
    hooks.receiver.manner = { answers: 204 };
    expect((await post(action)).statusCode).toBe(303);
    await webhookDispatcherOf(test).deliverDue();
    expect((await owner.ask('GET', path)).body).not.toContain('/retry"');
    expect((await post(action)).statusCode).toBe(409);

    expect((await post(`${path}/secret`)).body).toContain('whsec_');
    expect((await post(`${path}/remove`)).headers.location).toBe('/settings/webhooks');
    expect((await owner.ask('GET', path)).statusCode).toBe(404);
  });

  it('keeps what was typed when it is refused, and switches off', async () => {
    const refused = await post('/settings/webhooks', { url: 'ftp://example.org/typed' });
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('ftp://example.org/typed');
    expect(refused.body).toContain('Events: choose at least one.');
    const { id } = await hooks.add();
    const path = `/settings/webhooks/${id}`;
    const form = {
      url: `${hooks.receiver.url}/other`,
      'event.halfinch.client.added': 'true',
      expectedVersion: '1',
    };
    expect((await post(path, form)).statusCode).toBe(303);
    expect(await hooks.standing(id)).toMatchObject({ active: false, events: ['halfinch.client.added'] });
    expect((await post(path, form)).statusCode).toBe(409);
  });
});

describe('with Redis', () => {
  it('the same dispatcher carries them, queued as they are committed under their own ids', async () => {
    const redis = await openRedis();
    const dispatcher = webhookDispatcherOf(test);
    const upkeep = { nowAndThen: async () => undefined };
    const options = { redisUrl: redis.url, everyMs: HOUR_MS, watchCommits: true };
    const feeder = new MessageFeeder(options, upkeep, test.units, test.reader, test.clock, DELIVERIES);
    const { atOnce } = dispatcher;
    const working = { redisUrl: redis.url, atOnce, lockMs: 5_000 };
    const worker = new MessageWorker(working, dispatcher, test.clock, DELIVERIES.queue);
    const asked = connectRedis(redis.url);
    const queue = new Queue(DELIVERIES.queue, { connection: asked });
    try {
      await feeder.onApplicationBootstrap();
      worker.onApplicationBootstrap();
      await hooks.add({ events: ['halfinch.client.added'] });
      await hooks.addClient('Queued');
      await until(async () => (await hooks.deliveries())[0]?.state === 'sent');
      hooks.receiver.manner = 'drops';
      await hooks.addClient('Dropped');
      await until(async () => (await hooks.deliveries())[1]?.lastError !== null);
      const [, waiting] = await hooks.deliveries();
      await until(async () => (await (await queue.getJob(waiting!.id))?.getState()) === 'delayed');
      expect(hooks.receiver.heard).toHaveLength(2);
    } finally {
      await feeder.beforeApplicationShutdown();
      await worker.beforeApplicationShutdown();
      await queue.close();
      asked.disconnect();
      await redis.close();
    }
  });
});
