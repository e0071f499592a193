import { afterEach, beforeEach, expect, it } from '@jest/globals';
import { SYSTEM } from '../../../src/identity/index.js';
import { bookOf, type TestBook } from '../../factories/book.js';
import { makeClient } from '../../factories/clients.js';
import {
  makeSalon,
  openTestStore,
  SALON_INPUT,
  type TestSalon,
  type TestStore,
} from '../../factories/salon.js';

let store: TestStore;
let place: TestSalon;
let desk: TestBook;
beforeEach(async () => {
  store = await openTestStore('2026-06-01T08:00:00Z');
  place = await makeSalon(store);
  desk = bookOf(store);
});
afterEach(() => store.close());

const book = async (staffId: string, time: string, date = '2026-06-02', names = {}) => {
  const { id } = await makeClient(store, place.salon.id, names);
  return await desk.book.book({ clientId: id, staffId, serviceId: place.tidy.id, date, time }, SYSTEM);
};

it('shows each stylist’s working times and appointments in local time', async () => {
  const late = await book(place.mara.id, '17:40');
  const early = await book(place.mara.id, '09:00', '2026-06-02', { knownAs: 'Tilly' });
  await book(place.mara.id, '09:00', '2026-06-03');
  const dropped = await book(place.ilan.id, '11:00');
  await desk.book.cancel(dropped.id, {}, SYSTEM);
  const day = await desk.book.day(place.salon.id, '2026-06-02');
  expect(day).toMatchObject({ date: '2026-06-02', zone: 'Europe/London', closed: null });
  expect(day.columns.map(({ staffName }) => staffName)).toEqual(['Ilan Drosser', 'Mara Quillfeather']);
  const [ilan, mara] = day.columns;
  expect(ilan).toMatchObject({ appointments: [], cancelled: [{ id: dropped.id, state: 'cancelled' }] });
  expect(mara).toMatchObject({
    away: null,
    working: [
      { startTime: '09:00', endTime: '13:00' },
      { startTime: '13:30', endTime: '18:00' },
    ],
    appointments: [
      {
        id: early.id,
        version: 1,
        state: 'booked',
        clientName: 'Tilly Farnsby',
        serviceName: 'Nape and sides tidy',
        serviceKind: 'tidy',
        startTime: '09:00',
        endTime: '09:20',
        startsAt: Date.parse('2026-06-02T08:00Z'),
      },
      { id: late.id, clientName: 'Ottilie Farnsby', startTime: '17:40', endTime: '18:00' },
    ],
    cancelled: [],
  });
});

it('says why nobody works, and still shows whoever has an appointment', async () => {
  const { id } = await book(place.ilan.id, '10:00');
  await store.salons.changeStaff(place.ilan.id, { active: false }, SYSTEM);
  const closure = { startsOn: '2026-06-02', endsOn: '2026-06-02', reason: 'Burst pipe' };
  await store.salons.addClosure(place.salon.id, closure, SYSTEM);
  const day = await desk.book.day(place.salon.id, '2026-06-02');
  expect(day.closed).toBe('Burst pipe');
  expect(day.columns).toMatchObject([
    { staffName: 'Ilan Drosser', working: [], away: 'Burst pipe', appointments: [{ id }] },
    { staffName: 'Mara Quillfeather', working: [], away: 'Burst pipe', appointments: [] },
  ]);
  expect((await desk.book.day(place.salon.id, '2026-06-03')).columns).toHaveLength(1);
});

it.each(['2026-02-30', 'today', ''])('refuses the date %p', async (date) => {
  await expect(desk.book.day(place.salon.id, date)).rejects.toMatchObject({ code: 'BOOK.DATE_INVALID' });
});

it('an empty salon has an empty day', async () => {
  const empty = await store.salons.add({ ...SALON_INPUT, name: 'Nobody yet' }, SYSTEM);
  expect(await desk.book.day(empty.id, '2026-06-02')).toMatchObject({ closed: null, columns: [] });
});

it('shows a week of one stylist', async () => {
  const tuesday = await book(place.mara.id, '09:00', '2026-06-02');
  const sunday = await book(place.mara.id, '10:00', '2026-06-07');
  await book(place.mara.id, '10:00', '2026-06-08');
  await book(place.ilan.id, '10:00', '2026-06-03');
  const week = await desk.book.week(place.salon.id, place.mara.id, '2026-06-01');
  expect(week.map(({ date }) => date)).toEqual(
    ['01', '02', '03', '04', '05', '06', '07'].map((day) => `2026-06-${day}`),
  );
  expect(week.flatMap(({ columns }) => columns.map(({ staffName }) => staffName))).toEqual(
    Array.from({ length: 7 }, () => 'Mara Quillfeather'),
  );
  const shown = week.flatMap(({ columns }) => columns.flatMap(({ appointments }) => appointments));
  expect(shown.map(({ id }) => id)).toEqual([tuesday.id, sunday.id]);
  await expect(desk.book.week(place.salon.id, place.mara.id, 'today')).rejects.toMatchObject({
    code: 'BOOK.DATE_INVALID',
  });
});
