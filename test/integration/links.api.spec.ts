import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import ICAL from 'ical.js';
import { ClientLinks } from '../../src/book/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { addGuests, bookFaults } from '../factories/book.js';
import { CROP } from '../factories/cuts.js';

let test: TestApp;
let guests: string[];
beforeAll(async () => {
  test = await startTestApp('2026-06-01T08:00:00Z');
  guests = await addGuests(test, test.salon.id, 6);
});
afterAll(() => test.close());

type Json = ReturnType<typeof JSON.parse>;

const book = async (guest: number, date: string, time: string): Promise<string> => {
  const body = {
    clientId: guests[guest],
    staffId: test.mara.id,
    serviceId: test.fullCut.id,
    date,
    time,
  };
  const answer = await test.ask('desk', 'POST', '/api/v1/appointments', body);
  expect(answer.status).toBe(201);
  return (answer.body as Json).appointment.id;
};
/** As a client's phone asks: no session. */
const asClient = async (method: 'GET' | 'POST', path: string, token: string, payload?: object) => {
  const answer = await test.app.inject({
    method,
    url: `/api/v1/${path.replace('TOKEN', token)}`,
    headers: { authorization: `Bearer ${token}` },
    ...(payload && { payload }),
  });
  return { status: answer.statusCode, body: answer.body === '' ? {} : (answer.json() as Json) };
};

describe('private links over the API', () => {
  it('let a client confirm, move and cancel, and nobody without the secret', async () => {
    const id = await book(0, '2026-06-09', '10:00');
    const links = test.app.get(ClientLinks, { strict: false });
    const appointment = await test.reader.manager.findOneByOrFail('Appointment', { id });
    const token = await test.units.run((manager) => links.issue(manager, appointment as never));

    const shown = await asClient('GET', 'links/TOKEN', token);
    expect(shown).toMatchObject({ status: 200, body: { appointment: { appointmentId: id, time: '10:00' } } });
    expect((await asClient('POST', 'links/TOKEN/confirmation', token)).body.appointment.confirmedAt).toBe(
      test.clock.now(),
    );
    const { slots } = (await asClient('GET', 'links/TOKEN/slots', token)).body;
    const { startsAt } = slots.find(({ date }: Json) => date === '2026-06-10');
    const moved = await asClient('POST', 'links/TOKEN/move', token, { startsAt });
    expect(moved).toMatchObject({ status: 200, body: { appointment: { startsAt } } });
    const taken = await asClient('POST', 'links/TOKEN/move', token, { startsAt: startsAt + 60_000 });
    expect(taken).toMatchObject({ status: 409, body: { code: 'LINK.NOT_OFFERED' } });
    expect((await asClient('POST', 'links/TOKEN/move', token, {})).status).toBe(422);
    expect((await asClient('POST', 'links/TOKEN/cancellation', token)).body.appointment.state).toBe(
      'cancelled',
    );
    for (const path of ['links/TOKEN', 'links/TOKEN/slots', 'offer-links/TOKEN', 'calendars/TOKEN']) {
      for (const guess of ['A'.repeat(32), 'x', '%00', "'--", 'é'.repeat(40)]) {
        expect((await asClient('GET', path, encodeURIComponent(guess))).status).toBe(404);
      }
    }
    const audit = await test.reader.manager.query(
      `SELECT action FROM audit_entry WHERE "subjectId" = '${id}' AND "accountId" IS NULL ORDER BY at, id`,
    );
    expect(audit.map(({ action }: Json) => action)).toEqual([
      'appointment.confirm',
      'appointment.move',
      'appointment.cancel',
    ]);
  });
});

describe('the waiting list over the API', () => {
  it('finds matches for a cancellation, offers, and the first to accept has it', async () => {
    const id = await book(0, '2026-06-16', '10:00');
    for (const guest of [1, 2]) {
      const waits = await test.ask('desk', 'POST', '/api/v1/waiting', {
        clientId: guests[guest],
        serviceId: test.fullCut.id,
        fromDate: '2026-06-10',
        toDate: '2026-06-20',
      });
      expect(waits.status).toBe(201);
    }
    await test.ask('desk', 'POST', `/api/v1/appointments/${id}/cancellation`, {});
    const { matches } = (await test.ask('desk', 'GET', `/api/v1/appointments/${id}/matches`)).body as Json;
    expect(matches).toHaveLength(2);
    const freed = {
      staffId: test.mara.id,
      startsAt: Date.parse('2026-06-16T09:00Z'),
      endsAt: Date.parse('2026-06-16T09:45Z'),
    };
    const again = await test.ask('desk', 'POST', '/api/v1/waiting/matches', freed);
    expect((again.body as Json).matches).toEqual(matches);
    const entryIds = matches.map(({ entry }: Json) => entry.id);
    const offered = await test.ask('desk', 'POST', '/api/v1/offers', { ...freed, entryIds });
    expect(offered.status).toBe(201);
    const [first, second] = (offered.body as Json).offers.map(({ token }: Json) => token);
    expect((await asClient('GET', 'offer-links/TOKEN', first)).body.offer.state).toBe('open');
    expect((await asClient('POST', 'offer-links/TOKEN/acceptance', second)).status).toBe(201);
    expect(await asClient('POST', 'offer-links/TOKEN/acceptance', first)).toMatchObject({
      status: 409,
      body: { code: 'OFFER.GONE' },
    });
    expect((await asClient('POST', 'offer-links/TOKEN/refusal', first)).status).toBe(204);
    const waiting = (await test.ask('desk', 'GET', '/api/v1/waiting')).body as Json;
    expect(waiting.waiting.map(({ entry }: Json) => entry.id)).toEqual([entryIds[0]]);
    expect((await test.ask('desk', 'DELETE', `/api/v1/waiting/${entryIds[0]}`)).status).toBe(204);
    expect((await test.ask('nobody', 'GET', '/api/v1/waiting')).status).toBe(401);
    expect(await bookFaults(test)).toEqual([]);
  });
});

describe('series over the API', () => {
  it('are proposed, booked, changed and dropped; "not now" is kept', async () => {
    const clientId = guests[3];
    const visit = { clientId, staffId: test.mara.id, serviceId: test.fullCut.id, formula: CROP };
    expect((await test.ask('stylist', 'POST', '/api/v1/visits', visit)).status).toBe(201);
    const proposed = await test.ask('desk', 'POST', `/api/v1/clients/${clientId}/series-proposal`, {});
    const { visits } = (proposed.body as Json).proposal;
    const made = await test.ask('desk', 'POST', '/api/v1/series', {
      clientId,
      name: 'Half a year',
      visits: visits.slice(0, 3).map(({ serviceIds, slot }: Json) => ({
        staffId: slot.staffId,
        serviceIds,
        startsAt: slot.startsAt,
      })),
    });
    expect(made.status).toBe(201);
    const { id } = (made.body as Json).series;
    const changed = await test.ask('desk', 'POST', `/api/v1/series/${id}/change`, { time: '15:00' });
    expect(changed.status).toBe(200);
    const listed = await test.ask('desk', 'GET', `/api/v1/clients/${clientId}/series`);
    expect((listed.body as Json).series.map((one: Json) => one.id)).toEqual([id]);
    expect((await test.ask('desk', 'DELETE', `/api/v1/series/${id}`)).status).toBe(200);
    const { appointments } = (await test.ask('desk', 'GET', `/api/v1/series/${id}`)).body as Json;
    expect(new Set(appointments.map(({ state }: Json) => state))).toEqual(new Set(['cancelled']));
    const said = await test.ask('desk', 'POST', `/api/v1/clients/${clientId}/not-now`, { reason: 'price' });
    expect(said.status).toBe(201);
    const { due } = (await test.ask('desk', 'GET', '/api/v1/due?until=2026-06-02')).body as Json;
    expect(due).toMatchObject([{ clientId, notNow: { reason: 'price' } }]);
  });
});

describe('calendars over the API', () => {
  it('come as text/calendar, the feed by its secret alone', async () => {
    const id = await book(4, '2026-06-18', '10:00');
    const file = await test.ask('desk', 'GET', `/api/v1/appointments/${id}/calendar`);
    expect(file).toMatchObject({ status: 200, type: 'text/calendar; charset=utf-8; method=PUBLISH' });
    const read = (text: unknown) => new ICAL.Component(ICAL.parse(String(text)));
    expect(read((file.body as Json).text).getAllSubcomponents('vevent')).toHaveLength(1);
    expect((await test.ask('desk', 'POST', `/api/v1/staff/${test.mara.id}/calendar`)).status).toBe(403);
    const issued = await test.ask('owner', 'POST', `/api/v1/staff/${test.mara.id}/calendar`);
    const { path } = issued.body as Json;
    const feed = await test.ask('nobody', 'GET', path);
    expect(feed.status).toBe(200);
    const uids = read((feed.body as Json).text)
      .getAllSubcomponents('vevent')
      .map((event) => String(event.getFirstPropertyValue('uid')).split('@')[0]);
    expect(uids).toContain(id);
    expect((await test.ask('owner', 'DELETE', `/api/v1/staff/${test.mara.id}/calendar`)).status).toBe(204);
    expect((await test.ask('nobody', 'GET', path)).status).toBe(404);
  });
});
