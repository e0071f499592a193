import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { type Appointment, WaitingEntry, WaitingOffer } from '../../src/book/index.js';
import { WaitingEnds } from '../../src/book/waiting-ends.js';
import { SYSTEM } from '../../src/identity/index.js';
import { addGuests, bookFaults, openDesk, type TestDesk } from '../factories/book.js';

const DAY = '2026-06-09';
const MINUTE = 60_000;

let desk: TestDesk;
let guests: string[];
beforeEach(async () => {
  desk = await openDesk('2026-06-01T08:00:00Z');
  guests = await addGuests(desk.store, desk.place.salon.id, 6);
});
afterEach(() => desk.store.close());

const wait = (guest: number, changes: object = {}) => {
  desk.store.clock.at += MINUTE;
  return desk.waiting.add(
    {
      clientId: guests[guest],
      serviceId: desk.place.fullCut.id,
      fromDate: '2026-06-01',
      toDate: '2026-06-30',
      ...changes,
    },
    SYSTEM,
  );
};
/** Books the owner of the desk's client from 10:00 to 10:45 with Mara and cancels again. */
const freed = async (): Promise<Appointment> => {
  const { id } = await desk.book.book(
    {
      clientId: desk.clientId,
      staffId: desk.place.mara.id,
      serviceId: desk.place.fullCut.id,
      date: DAY,
      time: '10:00',
    },
    SYSTEM,
  );
  return await desk.book.cancel(id, {}, SYSTEM);
};
const offerTo = async (entries: readonly WaitingEntry[], changes: object = {}) => {
  const { staffId, startsAt, endsAt } = await freed();
  const input = { staffId, startsAt, endsAt, entryIds: entries.map(({ id }) => id), ...changes };
  return await desk.offers.offer(desk.place.salon.id, input, SYSTEM);
};
const stateOf = async (id: string) =>
  (await desk.store.reader.manager.findOneByOrFail(WaitingOffer, { id })).state;

describe('the waiting list', () => {
  it('is changed in place: she keeps her turn, and a version that is old changes nothing', async () => {
    const entry = await wait(0, { timeFrom: '15:00', notes: 'Rings first.' });
    const { id: salonId } = desk.place.salon;
    const shown = await desk.waiting.get(entry.id);
    const changes = { serviceId: desk.place.tidy.id, fromDate: DAY, toDate: DAY, weekdays: [2] };
    const changed = await desk.waiting.change(
      entry.id,
      { ...changes, expectedVersion: shown.version },
      SYSTEM,
    );
    expect(changed).toMatchObject({ ...changes, timeFrom: null, notes: '', addedAt: entry.addedAt });
    expect(changed.clientId).toBe(entry.clientId);
    const stale = desk.waiting.change(entry.id, { ...changes, expectedVersion: shown.version }, SYSTEM);
    await expect(stale).rejects.toMatchObject({ code: 'WAITING.STALE' });
    const past = desk.waiting.change(entry.id, { ...changes, toDate: '2026-06-08' }, SYSTEM);
    await expect(past).rejects.toMatchObject({ code: 'WAITING.RANGE' });
    await desk.waiting.remove(entry.id, SYSTEM);
    await expect(desk.waiting.change(entry.id, changes, SYSTEM)).rejects.toMatchObject({
      code: 'WAITING.OVER',
    });
    expect(await desk.waiting.of(salonId)).toEqual([]);
  });

  it('is left by whoever is booked for what suits her, however that came about', async () => {
    new WaitingEnds(desk.effects).onModuleInit();
    const { fullCut, tidy, mara, salon } = desk.place;
    const entry = await wait(0, { timeFrom: '15:00', weekdays: [2] });
    const book = (service: { readonly id: string }, time: string) =>
      desk.book.book(
        { clientId: guests[0], staffId: mara.id, serviceId: service.id, date: DAY, time },
        SYSTEM,
      );
    // Too early in the day, and for something else: she waits on.
    const early = await book(fullCut, '10:00');
    await book(tidy, '15:00');
    expect((await desk.waiting.of(salon.id)).map((line) => line.entry.id)).toEqual([entry.id]);
    await desk.book.move(early.id, { date: DAY, time: '16:00' }, SYSTEM);
    expect(await desk.waiting.of(salon.id)).toEqual([]);
    expect(await desk.waiting.get(entry.id)).toMatchObject({ state: 'booked', appointmentId: early.id });
  });

  it('is left by whoever says yes on the telephone; those who were offered that time hear that it is gone', async () => {
    const told: string[] = [];
    desk.waitingEffects.register({
      gone: async (_, offer) => {
        told.push(offer.entryId);
      },
    });
    const [first, second] = [await wait(0), await wait(1)];
    const [offer] = await offerTo([first]);
    const { staffId, startsAt } = offer!.offer;
    const appointment = await desk.offers.take(second.id, { staffId, startsAt }, SYSTEM);
    expect(appointment).toMatchObject({ clientId: guests[1], startsAt, state: 'booked' });
    expect(await stateOf(offer!.offer.id)).toBe('gone');
    expect(told).toEqual([first.id]);
    expect((await desk.waiting.of(desk.place.salon.id)).map(({ entry }) => entry.id)).toEqual([first.id]);
    expect(await desk.waiting.get(second.id)).toMatchObject({
      state: 'booked',
      appointmentId: appointment.id,
    });
    await expect(desk.offers.take(second.id, { staffId, startsAt }, SYSTEM)).rejects.toMatchObject({
      code: 'WAITING.OVER',
    });
    await expect(desk.offers.take(first.id, { staffId, startsAt }, SYSTEM)).rejects.toMatchObject({
      code: 'BOOK.TAKEN',
    });
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('matches a cancellation: asked for that stylist, fills most, waits longest', async () => {
    const { mara, ilan, tidy } = desk.place;
    const anybody = await wait(0);
    const short = await wait(1, { serviceId: tidy.id });
    const hers = await wait(2, { staffId: mara.id });
    const later = await wait(3);
    await wait(4, { staffId: ilan.id });
    await wait(5, { timeFrom: '12:00' });
    const matches = await desk.waiting.matchesOf((await freed()).id);
    expect(matches.map(({ entry }) => entry.id)).toEqual([hers.id, anybody.id, later.id, short.id]);
    expect(matches[0]).toMatchObject({
      clientName: 'Guest Number 3',
      serviceName: 'Full cut',
      slot: { date: DAY, time: '10:00' },
      why: expect.stringMatching(
        /^asked for Mara Quillfeather, fills 45 of 45 minutes, waiting since Mon,? 1 June/,
      ),
    });
    expect(matches[3]?.why).toContain('fills 20 of 45 minutes');
  });

  // 9 June 2026 is a Tuesday.
  it.each([
    ['the day', { fromDate: DAY, toDate: DAY }, true],
    ['an earlier day', { toDate: '2026-06-08' }, false],
    ['a later day', { fromDate: '2026-06-10' }, false],
    ['Tuesdays', { weekdays: [2] }, true],
    ['Mondays and Fridays', { weekdays: [1, 5] }, false],
    ['from 10:00', { timeFrom: '10:00' }, true],
    ['from 10:15', { timeFrom: '10:15' }, true],
    ['from 10:45', { timeFrom: '10:45' }, false],
    ['done by 10:45', { timeTo: '10:45' }, true],
    ['done by 10:30', { timeTo: '10:30' }, true],
    ['done by 10:00', { timeTo: '10:00' }, false],
  ])('lets a client say %s', async (_, changes, matched) => {
    const entry = await wait(0, changes);
    const matches = await desk.waiting.matchesOf((await freed()).id);
    expect(matches.map((match) => match.entry.id)).toEqual(matched ? [entry.id] : []);
    for (const { slot } of matches) expect(slot.startsAt).toBeLessThan(Date.parse('2026-06-09T09:45Z'));
  });

  it('proposes nobody who sits elsewhere then, nor who was removed or whose days are over', async () => {
    await wait(0);
    const removed = await wait(1);
    const over = await wait(2, { toDate: '2026-06-02' });
    await desk.book.book(
      {
        clientId: guests[0],
        staffId: desk.place.ilan.id,
        serviceId: desk.place.fullCut.id,
        date: DAY,
        time: '10:15',
      },
      SYSTEM,
    );
    await desk.waiting.remove(removed.id, SYSTEM);
    desk.store.clock.at = Date.parse('2026-06-03T08:00Z');
    expect(await desk.waiting.matchesOf((await freed()).id)).toEqual([]);
    const listed = (await desk.waiting.of(desk.place.salon.id)).map(({ entry }) => entry.id);
    expect(listed).not.toContain(removed.id);
    expect(listed).not.toContain(over.id);
  });

  it.each([
    ['clientId', { clientId: 'nobody' }],
    ['serviceId', { serviceId: 'nothing' }],
    ['staffId', { staffId: 'nobody' }],
    ['toDate', { toDate: '2026-05-31' }],
    ['toDate', { fromDate: '2026-05-01', toDate: '2026-05-31' }],
    ['fromDate', { fromDate: 'soon' }],
    ['timeTo', { timeFrom: '12:00', timeTo: '11:00' }],
    ['weekdays', { weekdays: [0] }],
  ])('refuses a bad %s', async (field, changes) => {
    await expect(wait(0, changes)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [expect.objectContaining({ field })],
    });
    expect(await desk.store.reader.manager.count(WaitingEntry)).toBe(0);
  });
});

describe('an offer', () => {
  it('goes to the first who accepts; the others are told and wait on', async () => {
    const told: string[] = [];
    desk.waitingEffects.register({
      offered: async (_, { clientId }) => void told.push(`offered ${guests.indexOf(clientId)}`),
      accepted: async (_, { clientId }) => void told.push(`accepted ${guests.indexOf(clientId)}`),
      gone: async (_, { clientId }) => void told.push(`gone ${guests.indexOf(clientId)}`),
    });
    const entries = [await wait(0), await wait(1), await wait(2)];
    const made = await offerTo(entries);
    expect(await desk.offers.resolve(made[1]!.token)).toMatchObject({
      state: 'open',
      clientName: 'Guest',
      serviceName: 'Full cut',
      staffName: 'Mara Quillfeather',
      date: DAY,
      time: '10:00',
    });
    const appointment = await desk.offers.accept(made[1]!.token);
    expect(appointment).toMatchObject({ clientId: guests[1], state: 'booked', bookedById: null });
    await expect(desk.offers.accept(made[0]!.token)).rejects.toMatchObject({
      kind: 'conflict',
      code: 'OFFER.GONE',
      message: expect.stringMatching(/^Sorry/),
    });
    await expect(desk.offers.accept(made[1]!.token)).rejects.toMatchObject({ code: 'OFFER.ACCEPTED' });
    expect(told).toEqual(['offered 0', 'offered 1', 'offered 2', 'accepted 1', 'gone 0', 'gone 2']);
    const states = (await desk.store.reader.manager.find(WaitingEntry)).map(({ state }) => state);
    expect(states.sort()).toEqual(['booked', 'waiting', 'waiting']);
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('taken by all at once is booked once', async () => {
    const entries = [];
    for (let i = 0; i < 6; i++) entries.push(await wait(i));
    const made = await offerTo(entries);
    const settled = await Promise.allSettled(
      [...made, ...made, ...made].map(({ token }) => desk.offers.accept(token)),
    );
    expect(settled.filter(({ status }) => status === 'fulfilled')).toHaveLength(1);
    const codes = settled.flatMap((one) => (one.status === 'rejected' ? [one.reason.code] : []));
    expect(codes.filter((code) => code === 'OFFER.GONE')).toHaveLength(15);
    expect(codes.filter((code) => code === 'OFFER.ACCEPTED')).toHaveLength(2);
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('for a time that the desk gave to another meanwhile is gone for all of them', async () => {
    const made = await offerTo([await wait(0), await wait(1)]);
    const rival = {
      clientId: guests[5],
      staffId: desk.place.mara.id,
      serviceId: desk.place.fullCut.id,
      date: DAY,
      time: '10:15',
    };
    await desk.book.book(rival, SYSTEM);
    await expect(desk.offers.accept(made[0]!.token)).rejects.toMatchObject({ code: 'OFFER.GONE' });
    expect(await stateOf(made[0]!.offer.id)).toBe('gone');
    expect(await stateOf(made[1]!.offer.id)).toBe('gone');
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('runs out, is declined, and is withdrawn with the entry', async () => {
    const [first, second, third] = [await wait(0), await wait(1), await wait(2)];
    const made = await offerTo([first, second, third], { standsMinutes: 30 });
    await desk.offers.decline(made[1]!.token);
    await desk.waiting.remove(third.id, SYSTEM);
    expect(await stateOf(made[1]!.offer.id)).toBe('declined');
    expect(await stateOf(made[2]!.offer.id)).toBe('withdrawn');
    await expect(desk.offers.accept(made[2]!.token)).rejects.toMatchObject({ code: 'OFFER.GONE' });
    desk.store.clock.at += 30 * MINUTE;
    expect(await desk.offers.resolve(made[0]!.token)).toMatchObject({ state: 'expired' });
    await expect(desk.offers.accept(made[0]!.token)).rejects.toMatchObject({ code: 'OFFER.EXPIRED' });
    desk.store.clock.at = made[0]!.offer.endsAt;
    await expect(desk.offers.resolve(made[0]!.token)).rejects.toMatchObject({ code: 'LINK.NOT_VALID' });
  });

  it('of two that do not overlap lets both be taken', async () => {
    const { tidy, mara } = desk.place;
    const early = await wait(0, { serviceId: tidy.id, timeTo: '10:20' });
    const late = await wait(1, { serviceId: tidy.id, timeFrom: '10:25' });
    const made = await offerTo([early, late]);
    for (const { token } of made) await desk.offers.accept(token);
    const day = await desk.book.day(desk.place.salon.id, DAY);
    const column = day.columns.find(({ staffId }) => staffId === mara.id);
    expect(column?.appointments).toHaveLength(2);
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('is not made to one who does not match', async () => {
    const entry = await wait(0, { timeFrom: '15:00' });
    await expect(offerTo([entry])).rejects.toMatchObject({
      code: 'OFFER.NO_MATCH',
      fields: [expect.objectContaining({ field: 'entryIds' })],
    });
    expect(await desk.store.reader.manager.count(WaitingOffer)).toBe(0);
  });
});
