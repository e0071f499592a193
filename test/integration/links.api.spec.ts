import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import ICAL from 'ical.js';
import { type Appointment, ClientLinks, WaitingOffers } from '../../src/book/index.js';
import { issueShapeLink, ShapeWindow } from '../../src/rebooking/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { addGuests, bookFaults } from '../factories/book.js';
import { CROP } from '../factories/cuts.js';
import { dataVersion } from '../factories/security.js';

let test: TestApp;
let guests: string[];
beforeAll(async () => {
  test = await startTestApp('2026-06-01T08:00:00Z');
  guests = await addGuests(test, test.salon.id, 7);
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

/** As a client's browser asks: no session, no cookie, no script. */
const look = async (path: string) => {
  const { statusCode, body, headers } = await test.app.inject({ method: 'GET', url: path });
  return { status: statusCode, body, headers };
};
const press = async (path: string, form: Record<string, string> = {}) => {
  const { statusCode, body, headers } = await test.app.inject({
    method: 'POST',
    url: path,
    headers: { 'content-type': 'application/x-www-form-urlencoded' },
    payload: new URLSearchParams(form).toString(),
  });
  return { status: statusCode, body, to: String(headers.location ?? '') };
};
/** The free times on a page, each as its form would send it. */
const timesOn = (page: string) =>
  [...page.matchAll(/<form method="post" action="([^"]+)" class="times-row">(.*?)<\/form>/gs)].flatMap(
    ([, action = '', form = '']) => {
      const staffId = /name="staffId" value="([^"]+)"/.exec(form)?.[1] ?? '';
      const starts = [...form.matchAll(/name="startsAt" value="(\d+)"/g)].map(([, at = '']) => at);
      return starts.map((startsAt) => ({ action, form: { staffId, startsAt } }));
    },
  );
const appointmentOf = (id: string) => test.reader.manager.findOneByOrFail<Appointment>('Appointment', { id });
const linkTo = async (id: string) => {
  const appointment = await appointmentOf(id);
  const links = test.app.get(ClientLinks, { strict: false });
  return `/a/${await test.units.run((manager) => links.issue(manager, appointment))}`;
};
const PHONE = '+44 20 7946 0301';

describe('the page behind a link to an appointment', () => {
  it('changes nothing when it is looked at, and is nobody else’s to find or keep', async () => {
    const path = await linkTo(await book(0, '2026-06-22', '10:00'));
    const before = await dataVersion(test.reader);
    for (const end of ['', '/move', '/cancel', '/appointment.ics']) {
      const { status, headers, body } = await look(`${path}${end}`);
      expect(status).toBe(200);
      expect(headers).toMatchObject({
        'cache-control': 'no-store',
        'referrer-policy': 'no-referrer',
        'x-robots-tag': expect.stringContaining('noindex'),
      });
      expect(headers['set-cookie']).toBeUndefined();
      expect(body).not.toMatch(/<script(?! type="module" src="\/assets\/every-form\.js">)/);
      expect(body).not.toContain('Number 1');
      expect((await test.app.inject({ method: 'HEAD', url: `${path}${end}` })).statusCode).toBe(200);
    }
    expect(await dataVersion(test.reader)).toBe(before);
  });

  it('lets her confirm, move to a time it shows, and cancel', async () => {
    const id = await book(0, '2026-06-23', '10:00');
    const path = await linkTo(id);
    expect(await press(`${path}/confirm`)).toMatchObject({ status: 303, to: path });
    expect((await look(path)).body).toContain('You have told us that you will come');
    const time = timesOn((await look(`${path}/move`)).body).at(-1)!;
    expect(await press(time.action, time.form)).toMatchObject({ status: 303, to: path });
    expect(await appointmentOf(id)).toMatchObject({
      startsAt: Number(time.form.startsAt),
      staffId: time.form.staffId,
    });
    const [other] = timesOn((await look(`${path}/move`)).body);
    const taken = await press(other!.action, { ...other!.form, startsAt: time.form.startsAt });
    expect(taken).toMatchObject({ status: 409, body: expect.stringContaining('choose one of those shown') });
    expect((await press(`${path}/move`, { startsAt: 'soon' })).status).toBe(422);
    expect((await press(`${path}/cancel`)).status).toBe(303);
    expect(await appointmentOf(id)).toMatchObject({ state: 'cancelled' });
    expect((await look(path)).body).toContain('This appointment is cancelled');
    for (const end of ['confirm', 'cancel', 'move']) {
      expect((await press(`${path}/${end}`, { startsAt: time.form.startsAt })).status).toBe(409);
    }
    expect((await press(`${path}/anything`)).status).toBe(404);
  });

  it('within the notice the salon asks for sends her to the phone', async () => {
    const id = await book(1, '2026-06-01', '16:00');
    const path = await linkTo(id);
    const page = (await look(path)).body;
    expect(page).toContain(PHONE);
    expect(page).not.toContain(`${path}/cancel`);
    for (const end of ['cancel', 'move']) {
      const refused = await press(`${path}/${end}`, { startsAt: `${Date.parse('2026-06-03T09:00Z')}` });
      expect(refused).toMatchObject({ status: 409, body: expect.stringContaining('less than 24 hours') });
    }
    expect(await appointmentOf(id)).toMatchObject({ state: 'booked', moves: 0 });
    expect((await press(`${path}/confirm`)).status).toBe(303);
  });

  it('that is over, of another kind or made up gives the salon’s phone, and nothing away', async () => {
    const id = await book(1, '2026-06-24', '10:00');
    const path = await linkTo(id);
    const token = path.slice('/a/'.length);
    const wrong = [`/o/${token}`, `/n/${token}`, '/a/x', `/a/${'A'.repeat(32)}`, '/n/%00', "/o/'--"];
    test.clock.at = (await appointmentOf(id)).endsAt;
    try {
      for (const place of [...wrong, path, `${path}/move`, `${path}/cancel`, `${path}/appointment.ics`]) {
        const page = await look(place);
        expect(page.status).toBe(404);
        expect(page.body).toContain(PHONE);
        expect(page.body).not.toContain('Guest');
      }
      const before = await dataVersion(test.reader);
      const presses = [`${path}/cancel`, `${path}/confirm`, `/o/${token}/accept`, `/n/${token}/book`];
      for (const place of presses) {
        expect((await press(place, { startsAt: '1' })).status).toBe(404);
      }
      expect(await dataVersion(test.reader)).toBe(before);
    } finally {
      test.clock.at = Date.parse('2026-06-01T08:00:00Z');
    }
  });
});

describe('the page behind an offer', () => {
  it('gives the time to the first and tells the other kindly', async () => {
    const offers = test.app.get(WaitingOffers, { strict: false });
    const startsAt = Date.parse('2026-06-25T09:00Z');
    const freed = { staffId: test.ilan.id, startsAt, endsAt: startsAt + 45 * 60_000 };
    const entryIds: string[] = [];
    for (const guest of [4, 5]) {
      const waits = {
        clientId: guests[guest],
        serviceId: test.fullCut.id,
        fromDate: '2026-06-25',
        toDate: '2026-06-25',
      };
      const answer = await test.ask('desk', 'POST', '/api/v1/waiting', waits);
      entryIds.push((answer.body as Json).entry.id);
    }
    const made = await offers.offer(test.salon.id, { ...freed, entryIds }, { accountId: null, role: 'desk' });
    const [first, second] = made.map(({ token }) => `/o/${token}`);
    const before = await dataVersion(test.reader);
    expect((await look(first!)).body).toContain('Take this time');
    expect(await dataVersion(test.reader)).toBe(before);
    expect(await press(`${second}/accept`)).toMatchObject({ status: 303, to: second });
    expect((await look(second!)).body).toContain('It is yours');
    const late = await press(`${first}/accept`);
    expect(late).toMatchObject({ status: 409, body: expect.stringContaining('Sorry, somebody was quicker') });
    expect((await press(`${first}/decline`)).status).toBe(303);
    expect((await look(first!)).body).toContain('taken by now');
  });
});

describe('the page behind "your shape is due"', () => {
  it('shows fitting times, books one by one press, and never a second', async () => {
    const clientId = guests[6]!;
    await test.ask('stylist', 'POST', '/api/v1/visits', {
      clientId,
      staffId: test.mara.id,
      serviceId: test.fullCut.id,
      formula: CROP,
    });
    const window = await test.reader.manager.findOneByOrFail(ShapeWindow, { clientId });
    const path = `/n/${await test.units.run((manager) => issueShapeLink(manager, window, test.clock.now()))}`;
    const ahead = await book(6, '2026-06-30', '15:00');
    expect((await look(path)).body).toContain('You are booked');
    await test.ask('desk', 'POST', `/api/v1/appointments/${ahead}/cancellation`, {});
    const before = await dataVersion(test.reader);
    const times = timesOn((await look(path)).body);
    expect(await dataVersion(test.reader)).toBe(before);
    expect(times.length).toBeGreaterThan(3);
    const [chosen, other] = times;
    const never = await press(chosen!.action, { ...chosen!.form, startsAt: `${Date.parse('2027-03-01')}` });
    expect(never).toMatchObject({ status: 409, body: expect.stringContaining('choose one of those shown') });
    const booked = await press(chosen!.action, chosen!.form);
    expect(booked).toMatchObject({ status: 303, to: expect.stringMatching(/^\/a\/[\w-]{32}$/) });
    expect((await look(booked.to)).body).toContain('Your appointment');
    const again = await press(other!.action, other!.form);
    expect(again).toMatchObject({ status: 409, body: expect.stringContaining('an appointment already') });
    const mine = await test.reader.manager.findBy<Appointment>('Appointment', {
      clientId,
      state: 'booked',
    } as never);
    expect(mine).toMatchObject([{ startsAt: Number(chosen!.form.startsAt), bookedById: null }]);
    expect(await bookFaults(test)).toEqual([]);
  });
});
