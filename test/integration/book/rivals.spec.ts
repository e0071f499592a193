import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { DomainError } from '../../../src/base/index.js';
import { Appointment, Claim } from '../../../src/book/index.js';
import { SYSTEM } from '../../../src/identity/index.js';
import { addGuests, bookFaults, bookOf, type TestBook } from '../../factories/book.js';
import { isOnPostgres } from '../../factories/database.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../../factories/salon.js';

let store: TestStore;
let place: TestSalon;
let desk: TestBook;
beforeEach(async () => {
  store = await openTestStore('2026-06-01T08:00:00Z');
  place = await makeSalon(store);
  desk = bookOf(store);
});
afterEach(() => store.close());

const clock = (minutes: number) =>
  `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;

/** What came of them: how many went through, and the codes of those that did not. Other errors fail the test. */
async function outcomes(work: readonly Promise<unknown>[]): Promise<{ done: number; refused: string[] }> {
  const settled = await Promise.allSettled(work);
  const refused = settled.flatMap((result) => {
    if (result.status === 'fulfilled') return [];
    if (result.reason instanceof DomainError) return [result.reason.code];
    throw result.reason;
  });
  return { done: settled.length - refused.length, refused };
}

describe('rivals for one stylist', () => {
  it('200 at once for overlapping times leave one booked, and each of the others learns what is free', async () => {
    const guests = await addGuests(store, place.salon.id, 200);
    // Starts from 10:00 to 10:44: each overlaps every other for 45 minutes' work.
    const rivals = guests.map((clientId, i) =>
      desk.book.book(
        {
          clientId,
          staffId: place.mara.id,
          serviceId: place.fullCut.id,
          date: '2026-06-02',
          time: clock(600 + (i % 45)),
        },
        SYSTEM,
      ),
    );
    const settled = await Promise.allSettled(rivals);
    expect(settled.filter(({ status }) => status === 'fulfilled')).toHaveLength(1);
    for (const result of settled) {
      if (result.status === 'fulfilled') continue;
      expect(result.reason).toMatchObject({ kind: 'conflict', code: 'BOOK.TAKEN' });
      expect(result.reason.details.nextFree).toHaveLength(3);
    }
    expect(await store.reader.manager.count(Appointment)).toBe(1);
    expect(await store.reader.manager.count(Claim)).toBe(1);
    expect(await bookFaults(store)).toEqual([]);
  });

  it('one client pressed 50 times over two stylists sits in one chair', async () => {
    const [clientId] = await addGuests(store, place.salon.id, 1);
    const presses = Array.from({ length: 50 }, (_, i) => {
      const staffId = i % 2 ? place.ilan.id : place.mara.id;
      const wish = { clientId, staffId, serviceId: place.fullCut.id, date: '2026-06-02', time: '10:00' };
      return desk.book.book(wish, SYSTEM);
    });
    expect((await outcomes(presses)).done).toBe(1);
    expect(await bookFaults(store)).toEqual([]);
  });

  it('bookings, moves, stretches and cancellations at once leave no overlap and lose nobody', async () => {
    const guests = await addGuests(store, place.salon.id, 90);
    const ids: string[] = [];
    let n = 0;
    // A fixed mixing of numbers stands in for chance, so that a failure can be repeated.
    const pick = (below: number) => {
      n = (Math.imul(n, 1_664_525) + 1_013_904_223) >>> 0;
      return Math.floor((n / 2 ** 32) * below);
    };
    const when = () => ({
      staffId: pick(2) ? place.ilan.id : place.mara.id,
      date: pick(2) ? '2026-06-02' : '2026-06-03',
      time: clock(540 + pick(16) * 15),
    });
    let booked = 0;
    for (let round = 0; round < 3; round++) {
      const work: Promise<unknown>[] = guests.slice(round * 30, round * 30 + 30).map(async (clientId) => {
        const wish = { clientId, serviceId: place.fullCut.id, ...when() };
        ids.push((await desk.book.book(wish, SYSTEM)).id);
        booked++;
      });
      for (const id of [...ids]) {
        work.push(desk.book.move(id, { ...when(), minutes: 20 + pick(4) * 15 }, SYSTEM));
        work.push(desk.book.move(id, when(), SYSTEM));
        if (pick(3) === 0) work.push(desk.book.cancel(id, {}, SYSTEM));
      }
      const { refused } = await outcomes(work);
      const expected = ['BOOK.TAKEN', 'BOOK.OUTSIDE_ROTA', 'BOOK.WRONG_STATE', 'BOOK.CLIENT_BUSY'];
      expect(refused.filter((code) => !expected.includes(code))).toEqual([]);
      expect(await bookFaults(store)).toEqual([]);
    }
    expect(booked).toBeGreaterThan(10);
    expect(await store.reader.manager.count(Appointment)).toBe(booked);
  });

  it('faults in a book are found, and PostgreSQL refuses them to begin with', async () => {
    const guests = await addGuests(store, place.salon.id, 2);
    for (const [i, clientId] of guests.entries()) {
      const wish = { clientId, staffId: place.mara.id, serviceId: place.fullCut.id, date: '2026-06-02' };
      await desk.book.book({ ...wish, time: i ? '11:00' : '10:00' }, SYSTEM);
    }
    const [first] = await store.reader.manager.find(Claim, { order: { startsAt: 'ASC' } });
    const spoil = () =>
      store.units.run((manager) =>
        manager.update(Claim, { id: first!.id }, { endsAt: first!.endsAt + 3_600_000 }),
      );
    if (isOnPostgres()) {
      await expect(spoil()).rejects.toThrow('claim_one_client_a_stylist');
      await store.sources.writer.query('ALTER TABLE claim DROP CONSTRAINT claim_one_client_a_stylist');
    }
    await spoil();
    expect(await bookFaults(store)).toMatchObject([
      { fault: 'stylist twice' },
      { fault: 'holds other than its steps' },
    ]);
  });
});
