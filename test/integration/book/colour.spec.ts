import { afterEach, beforeEach, expect, it } from '@jest/globals';
import { Appointment, Claim } from '../../../src/book/index.js';
import { SYSTEM } from '../../../src/identity/index.js';
import { SkinTest } from '../../../src/skin-tests/index.js';
import { bookOf, type TestBook } from '../../factories/book.js';
import { makeClient } from '../../factories/clients.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../../factories/salon.js';

const at = (text: string) => Date.parse(text);
const LINE = 'Umberline Cream 10';

let store: TestStore;
let place: TestSalon;
let desk: TestBook;
let clientId: string;
beforeEach(async () => {
  store = await openTestStore('2026-06-01T08:00:00Z');
  place = await makeSalon(store);
  desk = bookOf(store);
  clientId = (await makeClient(store, place.salon.id)).id;
});
afterEach(() => store.close());

const colour = (date: string) => ({
  clientId,
  staffId: place.mara.id,
  serviceId: place.colour.id,
  productLine: LINE,
  date,
  time: '10:00',
});

const clearTest = () =>
  store.units.run(async (manager) => {
    await manager.save(
      manager.create(SkinTest, {
        clientId,
        productLine: LINE,
        place: 'inner elbow',
        appliedAt: at('2026-05-28T09:00Z'),
        readAt: at('2026-05-30T10:00Z'),
        result: 'clear',
      }),
    );
  });

it('a colour is not booked without a skin test, and nothing is stored', async () => {
  await expect(desk.book.book(colour('2026-06-02'), SYSTEM)).rejects.toMatchObject({
    kind: 'refused',
    code: 'SKIN_TEST.NO_TEST',
    // 48 hours from now at the earliest (Cosmetics Europe 2023, reference-values.md).
    details: { firstDate: '2026-06-03' },
  });
  expect(await store.reader.manager.count(Appointment)).toBe(0);
  expect(await store.reader.manager.count(Claim)).toBe(0);
});

it('a colour is booked on a clear test, and not moved to when that will have lapsed', async () => {
  await clearTest();
  const { id } = await desk.book.book(colour('2026-06-02'), SYSTEM);
  await desk.book.move(id, { date: '2026-06-09', time: '10:00' }, SYSTEM);
  const before = await desk.book.get(id);
  // The salon lets a test count for 180 days.
  await expect(desk.book.move(id, { date: '2027-01-12', time: '10:00' }, SYSTEM)).rejects.toMatchObject({
    kind: 'refused',
    code: expect.stringMatching(/^SKIN_TEST\./),
  });
  expect(await desk.book.get(id)).toEqual(before);
});

it('another service is not turned into a colour past the gate', async () => {
  const wish = { ...colour('2026-06-02'), serviceId: place.tidy.id, productLine: '' };
  const { id } = await desk.book.book(wish, SYSTEM);
  const change = { serviceId: place.colour.id };
  await expect(desk.book.move(id, change, SYSTEM)).rejects.toMatchObject({ code: 'SKIN_TEST.NO_TEST' });
  expect((await desk.book.get(id)).serviceId).toBe(place.tidy.id);
});
