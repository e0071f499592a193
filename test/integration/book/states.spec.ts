import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Appointment, Claim } from '../../../src/book/index.js';
import { AuditEntry, SYSTEM } from '../../../src/identity/index.js';
import { openDesk, type TestDesk } from '../../factories/book.js';
import { makeClient } from '../../factories/clients.js';
import type { TestSalon, TestStore } from '../../factories/salon.js';

const at = (text: string) => Date.parse(text);
/** A Tuesday; the clock stands at Monday 1 June 2026, 09:00 British summer time. */
const DATE = '2026-06-02';

let desk: TestDesk;
let store: TestStore;
let place: TestSalon;
beforeEach(async () => {
  desk = await openDesk();
  ({ store, place } = desk);
});
afterEach(() => store.close());

const wish = (changes: object = {}) => ({
  clientId: desk.clientId,
  staffId: place.mara.id,
  serviceId: place.fullCut.id,
  date: DATE,
  time: '10:00',
  ...changes,
});
const book = (changes: object = {}) => desk.book.book(wish(changes), SYSTEM);
const claims = () => store.reader.manager.find(Claim, { order: { startsAt: 'ASC' } });
const another = async () => (await makeClient(store, place.salon.id, { givenName: 'Bram' })).id;

describe('the states of an appointment', () => {
  const now = (text: string) => {
    store.clock.at = at(text);
  };

  it('cancelling gives the time free and keeps the row', async () => {
    const { id, version } = await book();
    await expect(desk.book.cancel(id, { expectedVersion: 7 }, SYSTEM)).rejects.toMatchObject({
      code: 'BOOK.STALE',
    });
    await desk.book.cancel(id, { expectedVersion: version }, SYSTEM);
    expect(await desk.book.get(id)).toMatchObject({ state: 'cancelled', cancelledAt: store.clock.at });
    expect(await claims()).toEqual([]);
    await book();
  });

  it('a client arrives on the day only, and the arrival can be taken back', async () => {
    const { id } = await book();
    await expect(desk.book.arrive(id, SYSTEM)).rejects.toMatchObject({
      kind: 'refused',
      code: 'BOOK.NOT_TODAY',
    });
    now('2026-06-02T08:50Z');
    expect((await desk.book.arrive(id, SYSTEM)).state).toBe('arrived');
    expect((await desk.book.unArrive(id, SYSTEM)).state).toBe('booked');
    expect(await claims()).toHaveLength(1);
  });

  it('a no-show comes after the start, frees the time, and ends when the client comes after all', async () => {
    const { id } = await book();
    await expect(desk.book.noShow(id, SYSTEM)).rejects.toMatchObject({
      kind: 'refused',
      code: 'BOOK.TOO_EARLY',
    });
    now('2026-06-02T09:20Z');
    await desk.book.noShow(id, SYSTEM);
    expect(await claims()).toEqual([]);
    expect((await desk.book.arrive(id, SYSTEM)).state).toBe('arrived');
    expect(await claims()).toHaveLength(1);
  });

  it('a no-show whose time was given away cannot arrive in it', async () => {
    const { id } = await book();
    now('2026-06-02T09:20Z');
    await desk.book.noShow(id, SYSTEM);
    await book({ clientId: await another(), time: '10:30' });
    await expect(desk.book.arrive(id, SYSTEM)).rejects.toMatchObject({ code: 'BOOK.TAKEN' });
    expect((await desk.book.get(id)).state).toBe('no-show');
  });

  it('is done in the transaction that closes the visit, not ahead of its day', async () => {
    const { id } = await book();
    const done = () => store.units.run((manager) => desk.book.markDone(manager, id));
    await expect(done()).rejects.toMatchObject({ code: 'BOOK.NOT_TODAY' });
    now('2026-06-02T09:40Z');
    expect((await done()).state).toBe('done');
    expect(await claims()).toHaveLength(1);
  });

  // Every step that the table of states does not allow.
  const reach: Record<string, (id: string) => Promise<unknown>> = {
    booked: async () => undefined,
    arrived: (id) => desk.book.arrive(id, SYSTEM),
    'no-show': (id) => desk.book.noShow(id, SYSTEM),
    cancelled: (id) => desk.book.cancel(id, {}, SYSTEM),
    done: (id) => store.units.run((manager) => desk.book.markDone(manager, id)),
  };
  const step: Record<string, (id: string) => Promise<unknown>> = {
    move: (id) => desk.book.move(id, { date: DATE, time: '16:00' }, SYSTEM),
    cancel: (id) => desk.book.cancel(id, {}, SYSTEM),
    arrive: (id) => desk.book.arrive(id, SYSTEM),
    unArrive: (id) => desk.book.unArrive(id, SYSTEM),
    noShow: (id) => desk.book.noShow(id, SYSTEM),
    markDone: (id) => store.units.run((manager) => desk.book.markDone(manager, id)),
  };
  it.each([
    ['booked', ['unArrive']],
    ['arrived', ['move', 'cancel', 'arrive', 'noShow']],
    ['no-show', ['move', 'cancel', 'unArrive', 'noShow', 'markDone']],
    ['cancelled', ['move', 'cancel', 'arrive', 'unArrive', 'noShow', 'markDone']],
    ['done', ['move', 'cancel', 'arrive', 'unArrive', 'noShow', 'markDone']],
  ])('when %s refuse %j', async (state, steps) => {
    const { id } = await book();
    now('2026-06-02T09:10Z');
    await reach[state]!(id);
    for (const name of steps) {
      await expect(step[name]!(id)).rejects.toMatchObject({
        kind: 'refused',
        code: 'BOOK.WRONG_STATE',
        details: { state, step: name },
      });
    }
    expect((await desk.book.get(id)).state).toBe(state);
  });
});

describe('effects', () => {
  it('follow every change in its own transaction', async () => {
    const seen: unknown[] = [];
    const saw = (what: string) => async (_: unknown, appointment: Appointment) => {
      seen.push([what, appointment.state]);
    };
    desk.effects.register({
      booked: saw('booked'),
      moved: async (_, appointment, before) => {
        seen.push(['moved', before.startsAt, appointment.startsAt]);
      },
      cancelled: saw('cancelled'),
      arrived: saw('arrived'),
      unArrived: saw('unArrived'),
      noShow: saw('noShow'),
      done: saw('done'),
    });
    const first = await book();
    await desk.book.move(first.id, { date: DATE, time: '11:00' }, SYSTEM);
    await desk.book.cancel(first.id, {}, SYSTEM);
    const second = await book();
    store.clock.at = at('2026-06-02T09:10Z');
    await desk.book.arrive(second.id, SYSTEM);
    await desk.book.unArrive(second.id, SYSTEM);
    await desk.book.noShow(second.id, SYSTEM);
    await desk.book.arrive(second.id, SYSTEM);
    await store.units.run((manager) => desk.book.markDone(manager, second.id));
    expect(seen).toEqual([
      ['booked', 'booked'],
      ['moved', at('2026-06-02T09:00Z'), at('2026-06-02T10:00Z')],
      ['cancelled', 'cancelled'],
      ['booked', 'booked'],
      ['arrived', 'arrived'],
      ['unArrived', 'booked'],
      ['noShow', 'no-show'],
      ['arrived', 'arrived'],
      ['done', 'done'],
    ]);
  });

  it('that fail leave neither appointment nor claim nor trace', async () => {
    const traces = await store.reader.manager.count(AuditEntry);
    desk.effects.register({
      booked: async (manager, appointment) => {
        expect(await manager.existsBy(Claim, { appointmentId: appointment.id })).toBe(true);
        throw new Error('The outbox is full.');
      },
    });
    await expect(book()).rejects.toThrow('The outbox is full.');
    expect(await store.reader.manager.count(Appointment)).toBe(0);
    expect(await claims()).toEqual([]);
    expect(await store.reader.manager.count(AuditEntry)).toBe(traces);
  });

  it('that fail leave a moved or cancelled appointment where it was', async () => {
    const { id } = await book();
    const before = [await desk.book.get(id), await claims()];
    const fail = async () => {
      throw new Error('The outbox is full.');
    };
    desk.effects.register({ moved: fail, cancelled: fail });
    await expect(desk.book.move(id, { date: DATE, time: '15:00' }, SYSTEM)).rejects.toThrow('outbox');
    await expect(desk.book.cancel(id, {}, SYSTEM)).rejects.toThrow('outbox');
    expect([await desk.book.get(id), await claims()]).toEqual(before);
  });
});
