import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { SYSTEM } from '../../../src/identity/index.js';
import { bookOf, type TestBook } from '../../factories/book.js';
import { makeClient } from '../../factories/clients.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../../factories/salon.js';

const at = (text: string) => Date.parse(text);

let store: TestStore;
let desk: TestBook;

beforeEach(async () => {
  store = await openTestStore('2026-02-02T08:00:00Z');
  desk = bookOf(store);
});
afterEach(() => store.close());

const ask = (place: TestSalon, changes: object = {}) => ({
  salonId: place.salon.id,
  serviceId: place.fullCut.id,
  staffId: place.mara.id,
  fromDate: '2026-06-02',
  toDate: '2026-06-02',
  limit: 1000,
  ...changes,
});

describe('Slots.find', () => {
  it('offers what the rota leaves free of closures and appointments, and nothing that cannot be booked', async () => {
    const place = await makeSalon(store);
    const clientId = (await makeClient(store, place.salon.id)).id;
    await desk.book.book(
      { clientId, staffId: place.mara.id, serviceId: place.fullCut.id, date: '2026-06-02', time: '10:00' },
      SYSTEM,
    );
    await store.salons.addClosure(
      place.salon.id,
      { staffId: place.mara.id, startsOn: '2026-06-03', endsOn: '2026-06-03', reason: 'Course' },
      SYSTEM,
    );
    const slots = await desk.slots.find(ask(place, { toDate: '2026-06-03' }));
    expect(slots.map(({ date, time }) => `${date} ${time}`)).toEqual(
      [
        ...['09:00', '09:15', '10:45', '11:00', '11:15', '11:30', '11:45', '12:00', '12:15'],
        ...['13:30', '13:45', '14:00', '14:15', '14:30', '14:45', '15:00', '15:15', '15:30', '15:45'],
        ...['16:00', '16:15', '16:30', '16:45', '17:00', '17:15'],
      ].map((time) => `2026-06-02 ${time}`),
    );
    expect(slots[0]).toEqual({
      staffId: place.mara.id,
      staffName: 'Mara Quillfeather',
      serviceId: place.fullCut.id,
      startsAt: at('2026-06-02T08:00Z'),
      endsAt: at('2026-06-02T08:45Z'),
      date: '2026-06-02',
      time: '09:00',
      // 15 minutes are left until 10:00, and the shortest service takes 20.
      why: 'leaves 15 minutes too short to book',
    });
    for (const { startsAt, staffId } of slots.filter((_, i) => i % 6 === 0)) {
      const guest = (await makeClient(store, place.salon.id, { givenName: 'Guest' })).id;
      const wish = { clientId: guest, staffId, serviceId: place.tidy.id, startsAt };
      expect(await desk.book.book(wish, SYSTEM)).toMatchObject({ startsAt, state: 'booked' });
    }
  });

  it('ranks by due date and stylist and says why', async () => {
    const place = await makeSalon(store);
    const found = await desk.slots.find(
      ask(place, {
        staffId: undefined,
        fromDate: '2026-06-01',
        toDate: '2026-06-14',
        nearDate: '2026-06-09',
        preferredStaffId: place.ilan.id,
        limit: '3',
      }),
    );
    expect(found.map(({ staffName, date, time, why }) => [staffName, date, time, why])).toEqual([
      [
        'Ilan Drosser',
        '2026-06-09',
        '09:00',
        expect.stringContaining('on the day it is due, with the preferred'),
      ],
      // Ends with the morning's work; a start later in that half-day waits its turn.
      ['Ilan Drosser', '2026-06-09', '12:15', expect.stringContaining('on the day it is due')],
      ['Ilan Drosser', '2026-06-08', '09:00', expect.stringContaining('1 day before it is due')],
    ]);
  });

  it('puts what lies in the window and at the times she likes first, for a tidy named by its zones', async () => {
    const place = await makeSalon(store);
    const [first, second, ...rest] = await desk.slots.find(
      ask(place, {
        serviceId: undefined,
        zones: ['nape'],
        staffId: undefined,
        fromDate: '2026-06-01',
        toDate: '2026-06-20',
        windowFrom: '2026-06-08',
        windowTo: '2026-06-12',
        nearDate: '2026-06-10',
        preferredStaffId: place.mara.id,
        dayParts: ['evening'],
      }),
    );
    expect(first).toMatchObject({
      serviceId: place.tidy.id,
      staffId: place.mara.id,
      date: '2026-06-10',
      why: expect.stringMatching(
        /^inside the window, on the day it is due, with the preferred stylist, in the evening, as preferred, /,
      ),
    });
    expect(second).toMatchObject({ date: '2026-06-09', staffId: place.mara.id });
    expect(second!.time >= '17:00').toBe(true);
    expect(rest.at(-1)?.why).toMatch(/^outside the window, .*with another stylist/);
    const firstOutside = rest.findIndex(({ why }) => why.startsWith('outside'));
    // Of each half-day one, wherever it lies, before any second: only then do days inside come again.
    expect(
      rest.slice(0, firstOutside).every(({ date }) => date >= '2026-06-08' && date <= '2026-06-12'),
    ).toBe(true);
  });

  it('takes a full cut where no tidy covers the zones', async () => {
    const place = await makeSalon(store);
    const [slot] = await desk.slots.find(ask(place, { serviceId: undefined, zones: ['fringe', 'nape'] }));
    expect(slot?.serviceId).toBe(place.fullCut.id);
  });

  it('offers nothing in the past, nothing of who left or keeps the desk, nothing beyond the book', async () => {
    const place = await makeSalon(store);
    store.clock.at = at('2026-06-02T15:50:00Z');
    const all = ask(place, { staffId: undefined, fromDate: '2026-05-01', serviceId: place.tidy.id });
    // 16:50 British summer time.
    expect((await desk.slots.find(all)).map(({ time }) => time)).toEqual([
      ...['17:00', '17:00', '17:15', '17:15', '17:30', '17:30'],
    ]);
    await store.salons.changeStaff(place.ilan.id, { active: false }, SYSTEM);
    expect(await desk.slots.find(all)).toHaveLength(3);
    expect(await desk.slots.find(ask(place, { fromDate: '2026-05-01', toDate: '2026-05-31' }))).toEqual([]);
    expect(await desk.slots.find(ask(place, { fromDate: '2029-01-01', toDate: '2029-01-31' }))).toEqual([]);
  });

  it.each([
    ['SLOTS.RANGE', 'toDate', { toDate: '2026-06-01' }],
    ['SLOTS.RANGE', 'toDate', { toDate: '2026-12-05' }],
    ['SLOTS.NO_SUCH_SERVICE', 'serviceId', { serviceId: 'nothing' }],
    ['SLOTS.NO_SUCH_SERVICE', 'serviceId', { serviceId: '' }],
    ['INPUT.INVALID', 'zones', { zones: ['elbow'] }],
    ['INPUT.INVALID', 'dayParts', { dayParts: ['night'] }],
    ['INPUT.INVALID', 'windowTo', { windowTo: 'later' }],
    ['SLOTS.NO_SUCH_STYLIST', 'staffId', { staffId: 'nobody' }],
    ['INPUT.INVALID', 'fromDate', { fromDate: 'soon' }],
    ['INPUT.INVALID', 'limit', { limit: 0 }],
    ['INPUT.INVALID', 'nearDate', { nearDate: '2026-02-30' }],
    ['INPUT.INVALID', 'minutes', { minutes: 'long' }],
  ])('refuses with %s naming %s', async (code, field, changes) => {
    const place = await makeSalon(store);
    await expect(desk.slots.find(ask(place, changes))).rejects.toMatchObject({
      kind: 'invalid',
      code,
      fields: [expect.objectContaining({ field })],
    });
  });

  // Instants of change: IANA tzdata 2025b. 09:00 on the day before and on the day, as instants in UTC.
  it.each([
    ['Europe/London', '2026-03-28T09:00Z', '2026-03-29T08:00Z'],
    ['Europe/London', '2026-10-24T08:00Z', '2026-10-25T09:00Z'],
    ['America/New_York', '2026-03-07T14:00Z', '2026-03-08T13:00Z'],
    ['America/New_York', '2026-10-31T13:00Z', '2026-11-01T14:00Z'],
    ['Australia/Sydney', '2026-04-03T22:00Z', '2026-04-04T23:00Z'],
    ['Australia/Sydney', '2026-10-02T23:00Z', '2026-10-03T22:00Z'],
  ])('opens at 09:00 in %s whatever the clock does', async (zone, before, on) => {
    const place = await makeSalon(store, { zone });
    const dates = [before, on].map((text) =>
      new Date(at(text)).toLocaleDateString('en-CA', { timeZone: zone }),
    ) as [string, string];
    const slots = await desk.slots.find(ask(place, { fromDate: dates[0], toDate: dates[1] }));
    const opening = slots.filter(({ time }) => time === '09:00');
    expect(opening.map(({ date, startsAt }) => [date, startsAt])).toEqual([
      [dates[0], at(before)],
      [dates[1], at(on)],
    ]);
  });
});

describe('booking on the days that change the clock', () => {
  const night = [1, 2, 3, 4, 5, 6, 7].map((weekday) => ({ weekday, startsAt: '00:00', endsAt: '06:00' }));
  const prepared = async (zone: string) => {
    const place = await makeSalon(store, { zone });
    await store.salons.setRota(place.mara.id, { entries: night }, SYSTEM);
    const clientId = (await makeClient(store, place.salon.id)).id;
    return { place, wish: { clientId, staffId: place.mara.id, serviceId: place.tidy.id } };
  };

  // Instants of change: IANA tzdata 2025b.
  it.each([
    ['Europe/London', '2026-03-29', '01:30', '02:00', '2026-03-29T01:00Z'],
    ['America/New_York', '2026-03-08', '02:30', '03:00', '2026-03-08T07:00Z'],
    ['Australia/Sydney', '2026-10-04', '02:30', '03:00', '2026-10-03T16:00Z'],
    ['Europe/London', '2027-03-28', '01:30', '02:00', '2027-03-28T01:00Z'],
    ['America/New_York', '2027-03-14', '02:30', '03:00', '2027-03-14T07:00Z'],
    ['Australia/Sydney', '2027-10-03', '02:30', '03:00', '2027-10-02T16:00Z'],
  ])('%s on %s has no %s, and %s is the instant of change', async (zone, date, skipped, after, change) => {
    const { wish } = await prepared(zone);
    await expect(desk.book.book({ ...wish, date, time: skipped }, SYSTEM)).rejects.toMatchObject({
      kind: 'invalid',
      code: 'BOOK.NO_SUCH_TIME',
      fields: [expect.objectContaining({ field: 'time' })],
    });
    expect((await desk.book.book({ ...wish, date, time: after }, SYSTEM)).startsAt).toBe(at(change));
  });

  it.each([
    ['Europe/London', '2026-10-25', '01:30', '2026-10-25T01:00Z'],
    ['America/New_York', '2026-11-01', '01:30', '2026-11-01T06:00Z'],
    ['Australia/Sydney', '2026-04-05', '02:30', '2026-04-04T16:00Z'],
    ['Europe/London', '2027-10-31', '01:30', '2027-10-31T01:00Z'],
    ['America/New_York', '2027-11-07', '01:30', '2027-11-07T06:00Z'],
    ['Australia/Sydney', '2027-04-04', '02:30', '2027-04-03T16:00Z'],
  ])('%s on %s sells %s once', async (zone, date, time, change) => {
    const { wish } = await prepared(zone);
    const first = await desk.book.book({ ...wish, date, time }, SYSTEM);
    expect(first.startsAt).toBe(at(change) - 30 * 60_000);
    const secondPass = { ...wish, startsAt: at(change) + 30 * 60_000 };
    await expect(desk.book.book(secondPass, SYSTEM)).rejects.toMatchObject({ code: 'BOOK.SECOND_PASS' });
  });
});
