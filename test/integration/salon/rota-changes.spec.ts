import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { SYSTEM } from '../../../src/identity/index.js';
import { RotaChanges } from '../../../src/salon/index.js';
import { bookOf, type TestBook } from '../../factories/book.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore, WEEK } from '../../factories/salon.js';

let store: TestStore;
let place: TestSalon;
let desk: TestBook;
let changes: RotaChanges;
beforeEach(async () => {
  store = await openTestStore('2026-02-02T08:00:00Z');
  place = await makeSalon(store);
  desk = bookOf(store);
  changes = new RotaChanges(store.units, store.reader, store.audit);
  // Not on Sundays.
  const entries = WEEK.filter(({ weekday }) => weekday !== 7);
  await store.salons.setRota(place.mara.id, { entries }, SYSTEM);
});
afterEach(() => store.close());

const offered = async (date: string): Promise<string[]> => {
  const ask = { salonId: place.salon.id, serviceId: place.fullCut.id, staffId: place.mara.id, limit: 100 };
  return (await desk.slots.find({ ...ask, fromDate: date, toDate: date })).map(({ time }) => time);
};

describe('a rota changed by date', () => {
  it('has an extra day, other hours with a break, and a day off', async () => {
    const [sunday, monday, tuesday] = ['2026-06-07', '2026-06-08', '2026-06-09'] as const;
    expect(await offered(sunday)).toEqual([]);
    await changes.set(
      place.mara.id,
      { onDate: sunday, entries: [{ startsAt: '10:00', endsAt: '11:00' }] },
      SYSTEM,
    );
    expect(await offered(sunday)).toEqual(['10:00', '10:15']);
    const late = [
      { startsAt: '16:00', endsAt: '17:00' },
      { startsAt: '17:30', endsAt: '18:30' },
    ];
    await changes.set(place.mara.id, { onDate: monday, entries: late }, SYSTEM);
    expect(await offered(monday)).toEqual(['16:00', '16:15', '17:30', '17:45']);
    await changes.set(place.mara.id, { onDate: tuesday, entries: [] }, SYSTEM);
    expect(await offered(tuesday)).toEqual([]);
    expect(await offered('2026-06-10')).toContain('09:00');
    const day = await desk.book.day(place.salon.id, monday);
    expect(day.columns.find(({ staffId }) => staffId === place.mara.id)?.working).toMatchObject([
      { startTime: '16:00', endTime: '17:00' },
      { startTime: '17:30', endTime: '18:30' },
    ]);
    // The other stylist's week stands.
    const ilan = { salonId: place.salon.id, serviceId: place.fullCut.id, staffId: place.ilan.id };
    expect((await desk.slots.find({ ...ilan, fromDate: tuesday, toDate: tuesday })).length).toBeGreaterThan(
      0,
    );
  });

  it('is set anew, and taken back', async () => {
    const onDate = '2026-06-08';
    await changes.set(place.mara.id, { onDate, entries: [] }, SYSTEM);
    await changes.set(place.mara.id, { onDate, entries: [{ startsAt: '09:00', endsAt: '10:00' }] }, SYSTEM);
    expect(await offered(onDate)).toEqual(['09:00', '09:15']);
    expect(await changes.of(place.mara.id, onDate, onDate)).toHaveLength(1);
    await changes.clear(place.mara.id, onDate, SYSTEM);
    expect(await offered(onDate)).toContain('14:00');
  });

  it('gives way to a closure', async () => {
    const onDate = '2026-06-08';
    await changes.set(place.mara.id, { onDate, entries: [{ startsAt: '09:00', endsAt: '10:00' }] }, SYSTEM);
    await store.salons.addClosure(
      place.salon.id,
      { startsOn: onDate, endsOn: onDate, reason: 'Burst pipe' },
      SYSTEM,
    );
    expect(await offered(onDate)).toEqual([]);
  });

  // IANA tzdata 2025b: clocks change in the night before these days of 2027. 09:00 stays 09:00.
  it.each([
    ['Europe/London', '2027-03-28', '2027-03-28T08:00Z'],
    ['Europe/London', '2027-10-31', '2027-10-31T09:00Z'],
    ['America/New_York', '2027-03-14', '2027-03-14T13:00Z'],
    ['America/New_York', '2027-11-07', '2027-11-07T14:00Z'],
    ['Australia/Sydney', '2027-04-04', '2027-04-03T23:00Z'],
    ['Australia/Sydney', '2027-10-03', '2027-10-02T22:00Z'],
  ])(
    'opens at 09:00 in %s on %s, in the salon’s own zone beside another salon',
    async (zone, onDate, opening) => {
      const there = await makeSalon(store, { zone });
      await changes.set(there.mara.id, { onDate, entries: [{ startsAt: '09:00', endsAt: '10:00' }] }, SYSTEM);
      const ask = { salonId: there.salon.id, serviceId: there.fullCut.id, staffId: there.mara.id };
      const [first] = await desk.slots.find({ ...ask, fromDate: onDate, toDate: onDate });
      expect(first).toMatchObject({ time: '09:00', startsAt: Date.parse(opening) });
      // The salon in London keeps its own days and people.
      expect((await desk.book.day(place.salon.id, onDate)).zone).toBe('Europe/London');
    },
  );

  it.each([
    ['onDate', { onDate: '2026-02-30', entries: [] }],
    ['entries', { onDate: '2026-06-08' }],
    ['entries.0.endsAt', { onDate: '2026-06-08', entries: [{ startsAt: '09:00', endsAt: '08:00' }] }],
    ['entries.0.startsAt', { onDate: '2026-06-08', entries: [{ startsAt: '9', endsAt: '18:00' }] }],
  ])('is refused with a bad %s and stays', async (field, input) => {
    await expect(changes.set(place.mara.id, input, SYSTEM)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [expect.objectContaining({ field })],
    });
    expect(await offered('2026-06-08')).toContain('09:00');
  });

  it('of nobody is not there', async () => {
    await expect(changes.set('nobody', { onDate: '2026-06-08', entries: [] }, SYSTEM)).rejects.toMatchObject({
      code: 'STAFF.NOT_FOUND',
    });
  });
});
