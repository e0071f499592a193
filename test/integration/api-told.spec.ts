import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { issueShapeLink, ShapeWindow } from '../../src/rebooking/index.js';
import { Dispatcher } from '../../src/reminders/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CROP } from '../factories/cuts.js';
import { dataVersion } from '../factories/security.js';

type Json = ReturnType<typeof JSON.parse>;

let test: TestApp;
let clientId: string;
beforeAll(async () => {
  test = await startTestApp('2026-06-01T08:00:00Z');
  const added = await ask('desk', 'POST', 'clients', { givenName: 'Odile', email: 'odile@example.org' });
  expect(added.status).toBe(201);
  clientId = added.body.client.id;
  const yes = { channel: 'mail', purpose: 'rebooking', given: true };
  expect((await ask('desk', 'POST', `clients/${clientId}/consents`, yes)).status).toBe(201);
  const visit = { clientId, staffId: test.mara.id, serviceId: test.fullCut.id, formula: CROP };
  expect((await ask('stylist', 'POST', 'visits', visit)).status).toBe(201);
  // By now her nape has passed its limit.
  test.clock.at = Date.parse('2026-06-22T08:00:00Z');
});
afterAll(() => test.close());

const ask = async (
  role: Parameters<TestApp['ask']>[0],
  method: string,
  path: string,
  body?: unknown,
): Promise<{ status: number; body: Json }> => await test.ask(role, method, `/api/v1/${path}`, body);

const refusal = (status: number, code: string, field?: string) => ({
  status,
  body: { code, ...(field && { fields: expect.arrayContaining([expect.objectContaining({ field })]) }) },
});
const NONE = '00000000-0000-7000-8000-000000000000';

describe('what stands beside the card', () => {
  it('takes an answer about messages, and shows health notes to those who may see them', async () => {
    const odd = { channel: 'pigeon', purpose: 'rebooking', given: true };
    expect(await ask('desk', 'POST', `clients/${clientId}/consents`, odd)).toMatchObject(
      refusal(422, 'INPUT.INVALID', 'channel'),
    );
    const notes = await ask('stylist', 'GET', `clients/${clientId}/health-notes`);
    expect(notes).toMatchObject({ status: 200, body: { healthNotes: '' } });
    expect((await ask('desk', 'GET', `clients/${clientId}/health-notes`)).status).toBe(403);
  });
});

describe('messages over the API', () => {
  it('invites many, shows how far it has come, and stops', async () => {
    const until = '2026-06-29';
    expect((await ask('desk', 'GET', `message-runs/reach?until=${until}`)).body).toEqual({ clients: 1 });
    expect(await ask('desk', 'GET', 'message-runs/reach?until=tomorrow')).toMatchObject(
      refusal(422, 'INPUT.INVALID', 'until'),
    );
    expect(await ask('desk', 'POST', 'message-runs', { until: '2026-05-01' })).toMatchObject(
      refusal(422, 'RUN.UNTIL', 'until'),
    );
    const started = await ask('desk', 'POST', 'message-runs', { until });
    expect(started).toMatchObject({ status: 201, body: { run: { total: 1, over: false } } });
    const path = `message-runs/${started.body.run.id}`;
    expect((await ask('desk', 'GET', path)).body.run.counts.owed).toBe(1);
    const again = await ask('desk', 'POST', `clients/${clientId}/invitation`);
    expect(again).toMatchObject(refusal(409, 'INVITE.UNDER_WAY'));
    expect((await ask('desk', 'POST', `${path}/stop`)).body.run).toMatchObject({
      over: true,
      counts: { withdrawn: 1 },
    });
    expect((await ask('desk', 'GET', 'message-runs')).body.runs).toHaveLength(1);
    expect(await ask('desk', 'GET', `message-runs/${NONE}`)).toMatchObject(refusal(404, 'RUN.NOT_FOUND'));
  });

  it('invites one, and shows the message with its words once it is sent', async () => {
    const invited = await ask('desk', 'POST', `clients/${clientId}/invitation`);
    expect(invited).toMatchObject({ status: 201, body: { invitation: { channel: 'mail' } } });
    expect(await test.app.get(Dispatcher, { strict: false }).deliverDue()).toMatchObject({ sent: 1 });
    const { messages } = (await ask('desk', 'GET', 'messages?state=sent')).body;
    const { message } = (await ask('desk', 'GET', `messages/${messages[0].id}`)).body;
    expect(message).toMatchObject({ kind: 'shape-due', clientId });
    expect(message.body).toContain('Odile');
    expect(await ask('desk', 'GET', `messages/${NONE}`)).toMatchObject(refusal(404, 'MESSAGE.NOT_FOUND'));
    expect((await ask('stylist', 'GET', `messages/${messages[0].id}`)).status).toBe(403);
  });

  it('sets when messages go', async () => {
    const { rules } = (await ask('owner', 'GET', 'message-rules')).body;
    const changed = { ...rules, reminderHours: [24, 72] };
    const set = await ask('owner', 'PUT', 'message-rules', changed);
    expect(set).toMatchObject({ status: 200, body: { rules: { reminderHours: [72, 24] } } });
    expect(await ask('owner', 'PUT', 'message-rules', { ...rules, quietFrom: '25:00' })).toMatchObject(
      refusal(422, 'INPUT.INVALID', 'quietFrom'),
    );
    expect((await ask('desk', 'GET', 'message-rules')).status).toBe(403);
  });

  it('reads, previews, saves and gives up words of the salon', async () => {
    const path = 'message-words/appointment-reminder/text/en';
    const { words } = (await ask('owner', 'GET', path)).body;
    expect(words).toMatchObject({ kind: 'appointment-reminder', channel: 'text', number: 0 });
    const own = { body: `See you soon, {{${words.names[0]}}}.` };
    const preview = await ask('owner', 'POST', `${path}/preview`, own);
    expect(preview).toMatchObject({ status: 200, body: { preview: { segments: { segments: 1 } } } });
    expect(await ask('owner', 'POST', `${path}/preview`, { body: '{{nobodyKnows}}' })).toMatchObject(
      refusal(422, 'TEMPLATE.INVALID', 'body'),
    );
    expect((await ask('owner', 'PUT', path, own)).body.words.number).toBe(1);
    expect(await ask('owner', 'PUT', path, { ...own, expectedNumber: 0 })).toMatchObject(
      refusal(409, 'TEMPLATE.STALE'),
    );
    expect((await ask('owner', 'GET', 'message-words')).body.words).toMatchObject([{ number: 1 }]);
    expect((await ask('owner', 'DELETE', path)).body.words.body).toBe(words.body);
    expect(await ask('owner', 'GET', 'message-words/spell/text/en')).toMatchObject(
      refusal(422, 'INPUT.INVALID', 'kind'),
    );
  });
});

describe('what links open over the API', () => {
  it('books her next cut once, by the link of an invitation', async () => {
    const window = await test.reader.manager.findOneByOrFail(ShapeWindow, { clientId });
    const token = await test.units.run((manager) => issueShapeLink(manager, window, test.clock.now()));
    const { next } = (await ask('nobody', 'GET', `next-links/${token}`)).body;
    expect(next).toMatchObject({ clientName: 'Odile', booked: null });
    const { startsAt } = next.next.slots.at(-1);
    const early = await ask('nobody', 'POST', `next-links/${token}/booking`, { startsAt: startsAt + 60_000 });
    expect(early).toMatchObject(refusal(409, 'LINK.NOT_OFFERED'));
    expect(await ask('nobody', 'POST', `next-links/${token}/booking`, {})).toMatchObject(
      refusal(422, 'INPUT.INVALID', 'startsAt'),
    );
    const booked = await ask('nobody', 'POST', `next-links/${token}/booking`, { startsAt });
    expect(booked).toMatchObject({ status: 201, body: { appointment: { startsAt } } });
    expect((await ask('nobody', 'GET', `links/${booked.body.token}`)).status).toBe(200);
    expect(await ask('nobody', 'POST', `next-links/${token}/booking`, { startsAt })).toMatchObject(
      refusal(409, 'LINK.BOOKED'),
    );
    const before = test.clock.at;
    test.clock.at = startsAt;
    expect((await ask('nobody', 'GET', `next-links/${token}`)).body.next).toMatchObject({
      booked: { time: expect.any(String) },
      next: null,
    });
    test.clock.at = before;
    expect(await ask('nobody', 'GET', `next-links/${booked.body.token}`)).toMatchObject({ status: 404 });
    await ask('desk', 'POST', `appointments/${booked.body.appointment.id}/cancellation`, {});
  });

  it('ends messages and takes them up again by the link at their foot, which is all it takes', async () => {
    const { messages } = (await ask('desk', 'GET', 'messages?state=sent')).body;
    const { body } = (await ask('desk', 'GET', `messages/${messages[0].id}`)).body.message;
    const token = /\/unsubscribe\/([\w.-]+)/.exec(body)?.[1] ?? '';
    expect((await ask('nobody', 'GET', `unsubscriptions/${token}`)).body).toEqual({
      offer: { channel: 'mail', purpose: 'rebooking' },
    });
    const answers = async () => (await ask('owner', 'GET', `clients/${clientId}/consents`)).body.consents;
    expect((await ask('nobody', 'POST', `unsubscriptions/${token}`)).status).toBe(204);
    expect((await answers())[0]).toMatchObject({ purpose: 'rebooking', given: false, source: 'link' });
    test.clock.at += 1000;
    expect((await ask('nobody', 'POST', `unsubscriptions/${token}/resumption`)).status).toBe(204);
    expect((await answers())[0]).toMatchObject({ purpose: 'rebooking', given: true });
    expect(await ask('nobody', 'POST', 'unsubscriptions/made-up')).toMatchObject(
      refusal(404, 'UNSUBSCRIBE.NOT_FOUND'),
    );
  });
});

describe('series over the API', () => {
  it('leaves out one visit of its own, and no other', async () => {
    const proposed = await ask('desk', 'POST', `clients/${clientId}/series-proposal`, {});
    const visits = proposed.body.proposal.visits.slice(0, 2).map(({ serviceIds, slot }: Json) => ({
      staffId: slot.staffId,
      startsAt: slot.startsAt,
      serviceIds,
    }));
    const made = await ask('desk', 'POST', 'series', { clientId, name: 'Summer', visits });
    expect(made.status).toBe(201);
    const { series, appointments } = made.body;
    const path = `series/${series.id}/skip`;
    expect(await ask('desk', 'POST', path, { appointmentId: NONE })).toMatchObject(
      refusal(404, 'BOOK.NOT_FOUND'),
    );
    expect(await ask('desk', 'POST', path, {})).toMatchObject(refusal(422, 'INPUT.INVALID', 'appointmentId'));
    const skipped = await ask('desk', 'POST', path, { appointmentId: appointments[0].id });
    expect(skipped).toMatchObject({ status: 200, body: { appointment: { state: 'cancelled' } } });
    const states = (await ask('desk', 'GET', `series/${series.id}`)).body.appointments;
    expect(states.map(({ state }: Json) => state)).toEqual(['cancelled', 'booked']);
    expect((await ask('desk', 'DELETE', `series/${series.id}`)).status).toBe(200);
  });
});

describe('privacy and the audit trail over the API', () => {
  it('sets how long things are kept, plans and applies it', async () => {
    const set = await ask('owner', 'PUT', 'privacy/rules', { client: 24, message: 12 });
    expect(set).toMatchObject({ status: 200, body: { rules: { client: 24, message: 12 } } });
    expect(await ask('owner', 'PUT', 'privacy/rules', { client: -1, message: 0 })).toMatchObject(
      refusal(422, 'INPUT.INVALID', 'client'),
    );
    expect((await ask('owner', 'GET', 'privacy')).body.plan).toEqual({ clients: [], messages: 0 });
    const applied = await ask('owner', 'POST', 'privacy/application');
    expect(applied).toMatchObject({ status: 200, body: { done: { clients: [], messages: 0 } } });
  });

  it('exports a client whole and erases one only when it is meant', async () => {
    const data = (await ask('owner', 'GET', `clients/${clientId}/export`)).body;
    expect(data).toMatchObject({ format: 'halfinch-client', clientId });
    expect(data.tables.client[0].givenName).toBe('Odile');
    const before = await dataVersion(test.reader);
    for (const body of [{}, { sure: 'yes' }]) {
      expect(await ask('owner', 'POST', `clients/${clientId}/erasure`, body)).toMatchObject(
        refusal(422, 'PRIVACY.CONFIRM', 'sure'),
      );
    }
    expect(await dataVersion(test.reader)).toBe(before);
    expect((await ask('owner', 'POST', `clients/${clientId}/erasure`, { sure: 'erase' })).status).toBe(200);
    expect((await ask('owner', 'GET', `clients/${clientId}/consents`)).body.erasedAt).toBe(test.clock.now());
    expect(await ask('owner', 'POST', `clients/${clientId}/erasure`, { sure: 'erase' })).toMatchObject(
      refusal(409, 'PRIVACY.ERASED'),
    );
  });

  it('reads the trail, newest first, and verifies it', async () => {
    const { entries } = (await ask('owner', 'GET', `audit?about=${clientId}&what=client.e`)).body;
    expect(entries.map(({ action }: Json) => action)).toEqual(['client.erase', 'client.export']);
    expect(await ask('owner', 'GET', 'audit?before=x')).toMatchObject(
      refusal(422, 'INPUT.INVALID', 'before'),
    );
    const { verdict } = (await ask('owner', 'POST', 'audit/verification')).body;
    expect(verdict).toMatchObject({ broken: null });
    expect((await ask('desk', 'GET', 'audit')).status).toBe(403);
  });
});
