import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, jest } from '@jest/globals';
import { type CloudEvent, HTTP } from 'cloudevents';
import { WaitingOffers } from '../../src/book/index.js';
import { Privacy } from '../../src/privacy/index.js';
import { SETTINGS, type Settings } from '../../src/store/index.js';
import { Webhook, WebhookDelivery } from '../../src/webhooks/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CROP } from '../factories/cuts.js';
import { MARKS, plantMarked } from '../factories/security.js';
import { Hooks, isVerified, webhookDispatcherOf } from '../factories/webhooks.js';

jest.setTimeout(120_000);

type Json = ReturnType<typeof JSON.parse>;
const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;

let test: TestApp;
let hooks: Hooks;
beforeAll(async () => {
  test = await startTestApp('2026-06-01T08:00:00Z', { WEBHOOKS_ALLOW_PRIVATE: '1' });
  hooks = new Hooks(test);
});
afterAll(() => test.close());
beforeEach(() => hooks.begin());
afterEach(() => hooks.end());

describe('what happens in the salon', () => {
  it('is told as it is committed, signed, in an envelope that other libraries read', async () => {
    const { secret } = await hooks.add();
    const marked = await plantMarked(test);
    expect(await webhookDispatcherOf(test).deliverDue()).toMatchObject({ sent: 2, failed: 0 });
    const added = hooks.receiver.heard.find(({ body }) => body.includes('client.added'))!;
    // CloudEvents' own library takes it, structured and strict.
    const event = HTTP.toEvent({ headers: added.headers, body: added.body }) as CloudEvent<Json>;
    expect(event.validate()).toBe(true);
    expect(event).toMatchObject({
      specversion: '1.0',
      id: added.headers['webhook-id'],
      type: 'halfinch.client.added',
      source: `https://book.example.org/salons/${test.salon.id}`,
      subject: `clients/${marked.clientId}`,
      time: '2026-06-01T08:00:00.000Z',
      data: { clientId: marked.clientId, salonId: test.salon.id },
    });
    expect(isVerified(secret, added, test.clock.now())).toBe(true);
    expect(isVerified(secret, { ...added, body: `${added.body} ` }, test.clock.now())).toBe(false);
    // Neither name nor phone, mail, notes or anything of health.
    for (const mark of [...Object.values(MARKS), 'example.org', 'Zephirine']) {
      expect(
        hooks.receiver.heard.map(({ body }) => body.replaceAll('book.example.org', '')).join(),
      ).not.toContain(mark);
    }
  });

  it('is told by its kind: every step of an appointment, of a client, of a skin test', async () => {
    await hooks.add();
    const clientId = await hooks.addClient('Odile');
    await hooks.ask('desk', 'PUT', `clients/${clientId}`, { knownAs: 'Odi', expectedVersion: 1 });
    const start = Date.parse('2026-06-02T09:00:00Z');
    const { id, staffId } = await hooks.book(clientId, '2026-06-02', '10:00');
    await hooks.ask('desk', 'POST', `appointments/${id}/move`, { date: '2026-06-02', time: '11:00' });
    test.clock.at = Date.parse('2026-06-02T10:05:00Z');
    await hooks.ask('desk', 'POST', `appointments/${id}/arrival`);
    await hooks.ask('stylist', 'POST', `appointments/${id}/completion`, { formula: CROP });
    const missed = await hooks.book(clientId, '2026-06-03', '10:00');
    const dropped = await hooks.book(clientId, '2026-06-04', '10:00');
    await hooks.ask('desk', 'POST', `appointments/${dropped.id}/cancellation`, {});
    test.clock.at = Date.parse('2026-06-03T10:30:00Z');
    await hooks.ask('desk', 'POST', `appointments/${missed.id}/no-show`);
    expect(await webhookDispatcherOf(test).deliverDue()).toMatchObject({ waiting: 0, failed: 0 });
    const told = hooks.receiver.events.map(({ type, subject }) => `${type} ${subject}`);
    expect(told.toSorted()).toEqual(
      [
        `halfinch.client.added clients/${clientId}`,
        `halfinch.client.changed clients/${clientId}`,
        `halfinch.appointment.booked appointments/${id}`,
        `halfinch.appointment.moved appointments/${id}`,
        `halfinch.appointment.arrived appointments/${id}`,
        `halfinch.appointment.completed appointments/${id}`,
        `halfinch.appointment.booked appointments/${missed.id}`,
        `halfinch.appointment.missed appointments/${missed.id}`,
        `halfinch.appointment.booked appointments/${dropped.id}`,
        `halfinch.appointment.cancelled appointments/${dropped.id}`,
      ].toSorted(),
    );
    const moved = hooks.receiver.events.find(({ type }) => type === 'halfinch.appointment.moved');
    expect(moved?.['data']).toMatchObject({
      startsAt: start + HOUR_MS,
      formerStartsAt: start,
      formerStaffId: staffId,
    });
  });

  it('tells of a skin test that it is there and that it was read, never what was seen', async () => {
    await hooks.add({ events: ['halfinch.skin-test.placed', 'halfinch.skin-test.read'] });
    const client = await hooks.ask('stylist', 'POST', 'clients', {
      givenName: 'Ines',
      birthday: '1984-05-27',
    });
    const clientId = client.body.client.id;
    const placed = await hooks.ask('stylist', 'POST', `clients/${clientId}/skin-tests`, {
      productLine: 'Amberline Soft',
      place: 'behind-ear',
      appliedById: test.mara.id,
    });
    expect(placed.status).toBe(201);
    const { id, version } = placed.body.test ?? placed.body.skinTest;
    test.clock.at += 3 * DAY_MS;
    const read = await hooks.ask('stylist', 'POST', `skin-tests/${id}/reading`, {
      result: 'reacted',
      seen: 'Blisters',
      expectedVersion: version,
    });
    expect(read.status).toBe(200);
    await webhookDispatcherOf(test).deliverDue();
    const told = hooks.receiver.events;
    // Both are on the way at once, so their order is nobody's promise.
    const types = told.map(({ type }) => type).toSorted();
    expect(types).toEqual(['halfinch.skin-test.placed', 'halfinch.skin-test.read']);
    expect(told.find(({ type }) => type === 'halfinch.skin-test.read')?.['data']).toEqual({
      salonId: test.salon.id,
      skinTestId: id,
      clientId,
      readAt: test.clock.now(),
    });
    expect(JSON.stringify(told)).not.toMatch(/react|blister|Amberline|behind/i);
  });

  it('tells of an accepted offer, and of an erased client by her id', async () => {
    await hooks.add({
      events: ['halfinch.offer.accepted', 'halfinch.message.failed', 'halfinch.client.erased'],
    });
    const [waiting, holder] = [await hooks.addClient('Waits'), await hooks.addClient('Holds')];
    const freed = await hooks.book(holder, '2026-06-17', '10:00');
    await hooks.ask('desk', 'POST', 'waiting', {
      clientId: waiting,
      serviceId: test.fullCut.id,
      fromDate: '2026-06-10',
      toDate: '2026-06-20',
    });
    await hooks.ask('desk', 'POST', `appointments/${freed.id}/cancellation`, {});
    const { matches } = (await hooks.ask('desk', 'GET', `appointments/${freed.id}/matches`)).body;
    const { startsAt, endsAt } = freed;
    const entryIds = matches.map(({ entry }: Json) => entry.id);
    const offer = { staffId: test.mara.id, startsAt, endsAt, entryIds };
    const { offers } = (await hooks.ask('desk', 'POST', 'offers', offer)).body;
    const taken = await test.app.get(WaitingOffers, { strict: false }).accept(offers[0].token, '192.0.2.1');
    await test.app.get(Privacy, { strict: false }).erase(holder, { accountId: null, role: 'owner' });
    await webhookDispatcherOf(test).deliverDue();
    // Several are on the way at once, so their order is nobody's promise.
    const heard = hooks.receiver.events.map(({ type, data }) => [type, (data as Json).clientId]);
    expect(new Map(heard as [string, string][])).toEqual(
      new Map([
        ['halfinch.offer.accepted', waiting],
        ['halfinch.client.erased', holder],
      ]),
    );
    const accepted = hooks.receiver.events.find(({ type }) => type === 'halfinch.offer.accepted');
    expect(accepted).toMatchObject({ data: { appointmentId: taken.id } });
  });

  it('is not told when it is taken back, nor to those who did not ask, nor by a switched-off address', async () => {
    const { id } = await hooks.add({ events: ['halfinch.appointment.missed'] });
    const off = await hooks.add({ url: `${hooks.receiver.url}/off`, active: false });
    const clientId = await hooks.addClient('Quiet');
    const before = await test.reader.manager.count(WebhookDelivery);
    expect(before).toBe(0);
    await hooks.ask('owner', 'POST', `webhooks/${off.id}/change`, { active: true });
    const refused = await hooks.ask('desk', 'POST', 'appointments', {
      clientId,
      staffId: test.mara.id,
      serviceId: test.fullCut.id,
      date: '2020-01-01',
      time: '10:00',
    });
    expect(refused.status).toBeGreaterThanOrEqual(400);
    expect(await test.reader.manager.count(WebhookDelivery)).toBe(0);
    await hooks.book(clientId, '2026-06-23', '10:00');
    await hooks.ask('owner', 'POST', `webhooks/${off.id}/change`, { active: false });
    expect(await webhookDispatcherOf(test).deliverDue()).toMatchObject({ unneeded: 1, sent: 0 });
    expect(hooks.receiver.heard).toEqual([]);
    expect((await hooks.standing(id)).active).toBe(true);
  });

  it('is exported with the client it is about, and erased with her', async () => {
    await hooks.add();
    const clientId = await hooks.addClient('Leaves');
    const privacy = test.app.get(Privacy, { strict: false });
    const owner = { accountId: null, role: 'owner' } as const;
    const { tables } = await privacy.export(clientId, owner);
    expect(tables['webhook_delivery']).toHaveLength(1);
    await privacy.erase(clientId, owner);
    expect((await hooks.deliveries()).map(({ type }) => type)).toEqual(['halfinch.client.erased']);
  });
});

describe('a receiver that misbehaves', () => {
  const failing = async () => {
    const { id } = await hooks.add({ events: ['halfinch.client.added'] });
    await hooks.addClient('Told');
    return id;
  };

  it.each([
    ['answers 500', { answers: 500 }, 500, 'answered 500'],
    ['asks too much', { answers: 429 }, 429, 'answered 429'],
    ['stalls', 'stalls', null, 'No answer within 0.3 seconds'],
    ['drops the connection', 'drops', null, 'could not be reached'],
    ['leads elsewhere', { answers: 302, location: 'http://127.0.0.1:9/' }, 302, 'leading elsewhere'],
  ] as const)('%s: is tried again with the same id, later and later', async (_, manner, status, words) => {
    const id = await failing();
    hooks.receiver.manner = manner;
    const dispatcher = webhookDispatcherOf(test);
    expect(await dispatcher.deliverDue()).toMatchObject({ waiting: 1 });
    const [delivery] = await hooks.deliveries();
    expect(delivery).toMatchObject({ state: 'owed', attempts: 1, lastStatus: status, leaseId: null });
    expect(delivery!.lastError).toContain(words);
    // Half of a minute: `random` gives 0 ("equal jitter").
    expect(delivery!.notBefore).toBe(test.clock.now() + 30_000);
    expect((await hooks.standing(id)).failingSince).toBe(test.clock.now());
    expect(await dispatcher.deliverDue()).toMatchObject({ waiting: 0, sent: 0 });
    expect(hooks.receiver.heard).toHaveLength(1);
    hooks.receiver.manner = { answers: 200 };
    test.clock.at += 30_000;
    expect(await dispatcher.deliverDue()).toMatchObject({ sent: 1 });
    const [first, second] = hooks.receiver.heard;
    expect(second?.headers['webhook-id']).toBe(first?.headers['webhook-id']);
    expect(second?.headers['webhook-signature']).not.toBe(first?.headers['webhook-signature']);
    expect(await hooks.standing(id)).toMatchObject({ failingSince: null, version: 1 });
  });

  it.each([
    ['answers with a megabyte', { answers: 200, bytes: 1_000_000 }],
    ['never ends its answer', 'drips'],
  ] as const)('%s: has been told all the same', async (_, manner) => {
    await failing();
    hooks.receiver.manner = manner;
    expect(await webhookDispatcherOf(test).deliverDue()).toMatchObject({ sent: 1 });
  });

  it('is given up after eight attempts, listed, and tried again when the owner says so', async () => {
    const id = await failing();
    hooks.receiver.manner = { answers: 503 };
    const dispatcher = webhookDispatcherOf(test);
    for (let i = 0; i < 8; i += 1) {
      await dispatcher.deliverDue();
      test.clock.at += 4 * HOUR_MS;
    }
    expect(hooks.receiver.heard).toHaveLength(8);
    const { deliveries } = (await hooks.ask('owner', 'GET', `webhooks/${id}/deliveries`)).body;
    expect(deliveries).toMatchObject([{ state: 'failed', attempts: 8, lastStatus: 503 }]);
    hooks.receiver.manner = { answers: 204 };
    expect(await dispatcher.deliverDue()).toMatchObject({ sent: 0 });
    const path = `webhooks/${id}/deliveries/${deliveries[0].id}/retry`;
    expect((await hooks.ask('owner', 'POST', path)).status).toBe(204);
    expect(await hooks.ask('owner', 'POST', path)).toMatchObject({
      status: 409,
      body: { code: 'WEBHOOK.NOT_FAILED' },
    });
    expect(await dispatcher.deliverDue()).toMatchObject({ sent: 1 });
  });

  it('is switched off after three days of it, and the owner is written to', async () => {
    const id = await failing();
    hooks.receiver.manner = { answers: 500 };
    const dispatcher = webhookDispatcherOf(test);
    await dispatcher.deliverDue();
    test.clock.at += 3 * DAY_MS;
    await hooks.addClient('Later');
    expect(await dispatcher.deliverDue()).toMatchObject({ failed: 2 });
    expect(await hooks.standing(id)).toMatchObject({ active: false, gaveUpAt: test.clock.now() });
    const { outboxDir } = test.app.get<Settings>(SETTINGS, { strict: false });
    const letters = await Promise.all(
      (await readdir(outboxDir)).map((name) => readFile(join(outboxDir, name), 'utf8')),
    );
    expect(letters.filter((letter) => /^Subject: A program is no longer told/m.test(letter))).toHaveLength(1);
    await hooks.addClient('Unheard');
    expect(await hooks.deliveries()).toHaveLength(2);
    const on = await hooks.ask('owner', 'POST', `webhooks/${id}/change`, { active: true });
    expect(on.body.webhook).toMatchObject({ active: true, failingSince: null, gaveUpAt: null });
  });

  it('that says "gone" (RFC 9110, 410) is told nothing more at once', async () => {
    const id = await failing();
    hooks.receiver.manner = { answers: 410 };
    expect(await webhookDispatcherOf(test).deliverDue()).toMatchObject({ failed: 1 });
    expect((await hooks.standing(id)).active).toBe(false);
  });

  it('is never looked for in a private network, unless the operator allows it', async () => {
    await failing();
    const strict = { publicUrl: 'https://book.example.org', webhooksAllowPrivate: false };
    expect(await webhookDispatcherOf(test, {}, strict).deliverDue()).toMatchObject({ waiting: 1 });
    expect(hooks.receiver.heard).toEqual([]);
    expect((await hooks.deliveries())[0]?.lastError).toContain('https');
    await test.units.run((manager) =>
      manager.update(
        Webhook,
        { salonId: test.salon.id },
        { url: hooks.receiver.url.replace('http:', 'https:').replace('127.0.0.1', 'localhost') },
      ),
    );
    test.clock.at += HOUR_MS;
    expect(await webhookDispatcherOf(test, {}, strict).deliverDue()).toMatchObject({ waiting: 1 });
    expect((await hooks.deliveries())[0]?.lastError).toContain('private network');
  });

  it('is told once by two dispatchers at once, and again by another when one died with it in hand', async () => {
    await failing();
    const two = [webhookDispatcherOf(test), webhookDispatcherOf(test)];
    await Promise.all(two.map((one) => one.deliverDue()));
    expect(hooks.receiver.heard).toHaveLength(1);
    await hooks.addClient('Second');
    const [, second] = await hooks.deliveries();
    await test.units.run((manager) =>
      manager.update(
        WebhookDelivery,
        { id: second!.id },
        { leaseId: second!.id, attempts: 1, notBefore: test.clock.now() + 60_000 },
      ),
    );
    expect(await two[0]!.deliverDue()).toMatchObject({ sent: 0 });
    test.clock.at += 60_000;
    expect(await two[0]!.deliverDue()).toMatchObject({ sent: 1 });
    expect((await hooks.deliveries())[1]).toMatchObject({ state: 'sent', attempts: 2 });
  });
});
