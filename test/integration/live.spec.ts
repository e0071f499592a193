import { afterAll, afterEach, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { Appointment } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { Session, SignIn } from '../../src/identity/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { followBook, type LiveStream } from '../factories/live.js';
import { openSession } from '../factories/security.js';

jest.setTimeout(60_000);

const NOW = '2026-06-01T08:00:00Z';
const instant = (iso: string) => Date.parse(iso);

describe('pages that follow the book', () => {
  let test: TestApp;
  let token: string;
  let clientId: string;
  const streams: LiveStream[] = [];

  beforeAll(async () => {
    test = await startTestApp(NOW);
    await test.app.listen(0, '127.0.0.1');
    token = await openSession(test.app, 'desk');
    const made = await test.ask('desk', 'POST', '/api/v1/clients', { givenName: 'Ottoline' });
    clientId = (made.body as { client: { id: string } }).client.id;
  });
  afterEach(() => {
    for (const stream of streams.splice(0)) stream.leave();
  });
  afterAll(() => test.close());

  const follow = async (query = '', headers: Record<string, string> = {}, as = token) => {
    const path = `/salons/${test.salon.id}/changes${query}`;
    const answer = await followBook(test.app, path, as, headers);
    streams.push(answer.stream);
    return answer;
  };
  const book = async (time: string, over: object = {}) =>
    await test.ask('desk', 'POST', '/api/v1/appointments', {
      clientId,
      staffId: test.mara.id,
      serviceId: test.tidy.id,
      date: '2026-06-02',
      time,
      ...over,
    });
  const appointmentIn = ({ body }: { body: object }) => (body as { appointment: Appointment }).appointment;

  it('hear of a booking, a move and a cancellation once each is committed, where and not whose', async () => {
    const { status, type, stream } = await follow();
    expect([status, type]).toEqual([200, 'text/event-stream; charset=utf-8']);
    const { id, startsAt, endsAt } = appointmentIn(await book('10:00'));
    const booked = await stream.next();
    expect(booked).toEqual({
      id: expect.stringMatching(/^[0-9a-f]{12}\.\d+$/),
      event: 'book',
      data: { version: booked.id, stretches: [{ startsAt, endsAt }] },
    });
    // What a page reads on hearing of it has the change already.
    expect(await test.reader.manager.existsBy(Appointment, { id })).toBe(true);

    await test.ask('desk', 'POST', `/api/v1/appointments/${id}/move`, { date: '2026-06-03', time: '09:00' });
    const moved = (await stream.next()).data as { stretches: { startsAt: number }[] };
    // 10:00 and 09:00 in London, in summer.
    expect(moved.stretches.map((stretch) => stretch.startsAt)).toEqual([
      instant('2026-06-02T09:00:00Z'),
      instant('2026-06-03T08:00:00Z'),
    ]);
    await test.ask('desk', 'POST', `/api/v1/appointments/${id}/cancellation`, {});
    expect(await stream.next()).toMatchObject({ data: { stretches: expect.any(Array) } });
    expect(stream.waiting).toEqual([]);
  });

  it('hear nothing of what was refused, for it was rolled back', async () => {
    await book('11:00');
    const { stream } = await follow();
    expect((await book('11:00')).status).toBe(409);
    expect((await book('22:00')).status).toBe(409);
    // Rows were written and taken back: a new client whom nobody has time for.
    const refused = await test.ask('desk', 'POST', '/api/v1/walk-ins', {
      salonId: test.salon.id,
      givenName: 'Thomasin',
      serviceId: test.fullCut.id,
      staffId: test.frontDesk.id,
    });
    expect(refused.status).toBeGreaterThanOrEqual(400);
    expect(await test.reader.manager.countBy(Client, { givenName: 'Thomasin' })).toBe(0);
    const { startsAt } = appointmentIn(await book('12:00'));
    expect((await stream.next()).data).toMatchObject({ stretches: [{ startsAt }] });
  });

  it('hear of a rota that changed: perhaps on any day', async () => {
    const { stream } = await follow();
    const put = await test.ask('owner', 'PUT', `/api/v1/staff/${test.ilan.id}/rota-changes`, {
      onDate: '2026-06-05',
      entries: [],
    });
    expect(put.status).toBe(204);
    expect((await stream.next()).data).toMatchObject({ stretches: null });
  });

  it('catch up after a lost connection on just what they missed', async () => {
    const first = await follow();
    await book('14:30');
    const seen = await first.stream.next();
    first.stream.leave();
    const { startsAt } = appointmentIn(await book('14:00'));
    // The browser repeats the address and adds what it heard last, which counts.
    const again = await follow('?since=somebody.9', { 'last-event-id': seen.id });
    expect((await again.stream.next()).data).toMatchObject({ stretches: [{ startsAt }] });
    // In between nothing has happened, and so nothing is told until something does.
    const since = (await follow('?since=x').then(({ stream }) => stream.next())).id;
    const upToDate = await follow(`?since=${since}`);
    const next = appointmentIn(await book('16:00'));
    expect((await upToDate.stream.next()).data).toMatchObject({ stretches: [{ startsAt: next.startsAt }] });
    expect(upToDate.stream.waiting).toEqual([]);
  });

  it.each(['another-process.3', 'x', '.', `${'0'.repeat(12)}.1`])(
    'look at everything when the version they saw is not ours: %s',
    async (since) => {
      const { stream } = await follow(`?since=${since}`);
      expect((await stream.next()).data).toMatchObject({ stretches: null });
    },
  );

  it('are for those who may read the book, of a salon that there is', async () => {
    const path = `/salons/${test.salon.id}/changes`;
    expect((await followBook(test.app, path, 'no-such-session-no-such-session')).status).toBe(303);
    expect((await followBook(test.app, '/salons/none/changes', token)).status).toBe(404);
  });

  it('end when the person signs out, and those of others go on', async () => {
    const mine = await openSession(test.app, 'stylist');
    const ending = await follow('', {}, mine);
    const other = await follow();
    await test.app.get(SignIn).signOut(mine);
    await ending.stream.ended;
    await book('15:00');
    expect((await other.stream.next()).event).toBe('book');
  });

  it('do not keep a forgotten browser signed in', async () => {
    const mine = await openSession(test.app, 'stylist');
    const seenAt = async () =>
      (await test.reader.manager.find(Session, { order: { startedAt: 'DESC' } })).map(
        ({ lastSeenAt }) => lastSeenAt,
      );
    const before = await seenAt();
    test.clock.at += 10 * 60_000;
    await follow('', {}, mine);
    await test.app.inject({ url: '/today', headers: { cookie: `halfinch=${mine}`, 'x-by-itself': '1' } });
    expect(await seenAt()).toEqual(before);
    await test.app.inject({ url: '/today', headers: { cookie: `halfinch=${mine}` } });
    expect(await seenAt()).not.toEqual(before);
  });

  it('do not keep the server from stopping', async () => {
    const other = await startTestApp(NOW);
    await other.app.listen(0, '127.0.0.1');
    const session = await openSession(other.app, 'desk');
    const { stream } = await followBook(other.app, `/salons/${other.salon.id}/changes`, session);
    await other.close();
    await stream.ended;
    expect(stream.waiting).toEqual([]);
  });
});
