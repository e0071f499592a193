import { afterEach, beforeEach, expect, it } from '@jest/globals';
import { Appointment, Claim } from '../../../src/book/index.js';
import { SYSTEM } from '../../../src/identity/index.js';
import { SkinTest } from '../../../src/skin-tests/index.js';
import { openDesk, type TestDesk } from '../../factories/book.js';
import type { TestStore } from '../../factories/salon.js';

const at = (text: string) => Date.parse(text);
const LINE = 'Umberline Cream 10';

let desk: TestDesk;
let store: TestStore;
beforeEach(async () => {
  desk = await openDesk();
  ({ store } = desk);
});
afterEach(() => store.close());

const colour = (date: string) => ({
  clientId: desk.clientId,
  staffId: desk.place.mara.id,
  serviceId: desk.place.colour.id,
  productLine: LINE,
  date,
  time: '10:00',
});

const clearTest = () =>
  store.units.run(async (manager) => {
    await manager.save(
      manager.create(SkinTest, {
        clientId: desk.clientId,
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
  const wish = { ...colour('2026-06-02'), serviceId: desk.place.tidy.id, productLine: '' };
  const { id } = await desk.book.book(wish, SYSTEM);
  const change = { serviceId: desk.place.colour.id };
  await expect(desk.book.move(id, change, SYSTEM)).rejects.toMatchObject({ code: 'SKIN_TEST.NO_TEST' });
  expect((await desk.book.get(id)).serviceId).toBe(desk.place.tidy.id);
});
