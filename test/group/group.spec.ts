import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { Appointment, Claim } from '../../src/book/index.js';
import { Message } from '../../src/reminders/index.js';
import { bookFaults } from '../factories/book.js';
import { type Answer, askAt, type Group, OWNER, openGroup, type WebProcess } from '../factories/group.js';
import { followBook } from '../factories/live.js';
import { until } from '../factories/until.js';

// Six processes and two servers start here; on a busy machine that alone takes minutes.
jest.setTimeout(300_000);

/** Between two requests of one client, so that they do not keep a starting process from starting. */
const PAUSE_MS = 20;

const DAY_MS = 86_400_000;
/** Half the half hours that WEEK works: each holds a tidy of twenty minutes. */
const TIMES = ['09:00', '09:30', '10:00', '10:30', '11:00', '11:30', '12:00', '12:30', '13:30', '14:00'];

type Wanted = {
  readonly clientId: string;
  readonly staffId: string;
  readonly date: string;
  readonly time: string;
};

const dateIn = (days: number) => new Date(Date.now() + days * DAY_MS).toISOString().slice(0, 10);
const idOf = ({ body }: Answer) => (body['appointment'] as Appointment).id;
const codeOf = ({ body }: Answer) => body['code'];

/*
 * Two web processes and two workers as an operator runs them, on a real PostgreSQL and a real Redis; one salon whose
 * records grow from test to test.
 */
describe('several processes', () => {
  let group: Group;
  let clients: string[];
  let token: string;

  beforeAll(async () => {
    group = await openGroup();
    clients = await group.addClients(120);
    const session = await askAt(group.web[0]!.url, 'POST', '/api/v1/sessions', { body: OWNER });
    token = session.body['token'] as string;
  });

  afterAll(() => group.close());

  const book = (url: string, wanted: Wanted) =>
    askAt(url, 'POST', '/api/v1/appointments', { token, body: { ...wanted, serviceId: group.tidy.id } });

  /** A different time or stylist and another client each, on days nobody else of this spec takes. */
  const apart = (count: number, fromDay: number): Wanted[] =>
    Array.from({ length: count }, (_, i) => ({
      clientId: clients[i]!,
      staffId: [group.mara.id, group.ilan.id][i % 2]!,
      time: TIMES[Math.floor(i / 2) % TIMES.length]!,
      date: dateIn(fromDay + Math.floor(i / 2 / TIMES.length)),
    }));

  const faults = () => bookFaults({ reader: group.reader });

  it('that all start at once on an empty database run each migration once', async () => {
    const rows: { name: string }[] = await group.reader.manager.query('SELECT name FROM schema_migration');
    const names = rows.map(({ name }) => name);
    expect(new Set(names).size).toBe(names.length);
    expect(names).toContain('Records1764061200000');
    expect(group.complaints()).toBe('');
  });

  it('let one of many win who book overlapping times at once, on whichever process', async () => {
    const rivals = Array.from({ length: 24 }, (_, i) => ({
      clientId: clients[i]!,
      staffId: group.mara.id,
      date: dateIn(2),
      time: ['10:00', '10:10', '09:55'][i % 3]!,
    }));
    const answers = await Promise.all(rivals.map((rival, i) => book(group.web[i % 2]!.url, rival)));
    const lost = answers.filter(({ status }) => status !== 201);
    expect(lost).toHaveLength(rivals.length - 1);
    expect(lost.map(codeOf)).toEqual(lost.map(() => 'BOOK.TAKEN'));
    expect(await faults()).toEqual([]);
  });

  it('keep every booking that was accepted when one is killed in the middle of a storm', async () => {
    const wanted = apart(60, 3);
    const [doomed, other] = group.web as [WebProcess, WebProcess];
    const accepted: string[] = [];
    let broken = 0;
    let killing: Promise<void> | undefined;
    await Promise.all(
      wanted.map(async (one, i) => {
        const answer = await book((i % 2 === 0 ? doomed : other).url, one).catch(() => undefined);
        if (answer?.status === 201) accepted.push(idOf(answer));
        else broken += 1;
        if (accepted.length === 15) killing ??= doomed.kill();
      }),
    );
    await killing;
    // The other process answered all of its own, and the killed one was in the middle of its.
    expect(accepted.length).toBeGreaterThanOrEqual(30);
    expect(broken).toBeGreaterThan(0);
    const kept = await group.reader.manager.find(Appointment, { select: { id: true } });
    const ids = new Set(kept.map(({ id }) => id));
    expect(accepted.filter((id) => !ids.has(id))).toEqual([]);
    // What was cut off is there whole or not at all.
    const holding = await group.reader.manager.find(Claim, { select: { appointmentId: true } });
    const held = new Set(holding.map(({ appointmentId }) => appointmentId));
    expect([...ids].filter((id) => !held.has(id))).toEqual([]);
    expect(await faults()).toEqual([]);
    group.web[0] = await group.startWeb(doomed.port);
  });

  it('send each reminder and each confirmation once', async () => {
    const owed = () => group.reader.manager.countBy(Message, { state: 'owed' });
    await until(async () => (await owed()) === 0, 60_000);
    const messages = await group.reader.manager.find(Message);
    const reminders = messages.filter(({ kind }) => kind === 'appointment-reminder');
    expect(reminders.length).toBeGreaterThanOrEqual(30);
    expect(messages.map(({ state }) => state)).toEqual(messages.map(() => 'sent'));
    expect([...group.mail.accepted.keys()].sort()).toEqual(messages.map(({ id }) => id).sort());
    expect([...group.mail.accepted.values()].filter((times) => times.length !== 1)).toEqual([]);
  });

  it('tell the pages of one of what another changes, and end them when it signs somebody out', async () => {
    const [one, other] = group.web as [WebProcess, WebProcess];
    const session = await askAt(one.url, 'POST', '/api/v1/sessions', { body: OWNER });
    const theirs = session.body['token'] as string;
    const at = { getUrl: async () => other.url };
    const { status, stream } = await followBook(at, `/salons/${group.salon.id}/changes`, theirs);
    expect(status).toBe(200);
    const { clientId, staffId } = apart(1, 20)[0]!;
    const booked = await book(one.url, { clientId, staffId, date: dateIn(20), time: '15:00' });
    const { startsAt, endsAt } = booked.body['appointment'] as Appointment;
    expect(await stream.next()).toMatchObject({ data: { stretches: [{ startsAt, endsAt }] } });
    await askAt(one.url, 'DELETE', '/api/v1/sessions/current', { token: theirs });
    await stream.ended;
    expect((await askAt(other.url, 'GET', '/api/v1/clients', { token: theirs })).status).toBe(401);
  });

  it('count wrong passwords together', async () => {
    const wrong = { email: 'nobody@example.org', password: 'wrong' };
    const codes: unknown[] = [];
    for (let i = 0; i < 7; i += 1) {
      codes.push(codeOf(await askAt(group.web[i % 2]!.url, 'POST', '/api/v1/sessions', { body: wrong })));
    }
    // Five are free; the sixth is still tried, and makes the seventh wait.
    expect(codes).toEqual([...Array(6).fill('SIGN_IN.REFUSED'), 'SIGN_IN.SLOW']);
  });

  it('fail no request while each is stopped and started anew in turn', async () => {
    const wanted = apart(100, 30);
    const answers: Answer[] = [];
    let isOver = false;
    let next = 0;
    const client = async () => {
      while (!isOver || next < 20) {
        const reads = await askAt(group.balancer.url, 'GET', '/api/v1/clients?search=guest', { token });
        answers.push(reads);
        const one = wanted[next];
        next += 1;
        if (one) answers.push(await book(group.balancer.url, one));
        await new Promise((later) => setTimeout(later, PAUSE_MS));
      }
    };
    const busy = [client(), client()];
    for (const [i, old] of group.web.entries()) {
      await old.stop();
      group.web[i] = await group.startWeb(old.port);
    }
    isOver = true;
    await Promise.all(busy);
    expect(answers.length).toBeGreaterThan(40);
    expect(answers.filter(({ status }) => status !== 200 && status !== 201)).toEqual([]);
    const kept = await group.reader.manager.find(Appointment, { select: { id: true } });
    const ids = new Set(kept.map(({ id }) => id));
    expect(answers.filter((answer) => answer.status === 201 && !ids.has(idOf(answer)))).toEqual([]);
    expect(await faults()).toEqual([]);
    expect(group.complaints()).toBe('');
  });
});
