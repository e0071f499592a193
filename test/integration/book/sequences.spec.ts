import { afterAll, beforeAll, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { DomainError } from '../../../src/base/index.js';
import { Appointment, type AppointmentState } from '../../../src/book/index.js';
import { SYSTEM } from '../../../src/identity/index.js';
import { Resources } from '../../../src/salon/index.js';
import { addGuests, bookFaults, bookOf, type TestBook } from '../../factories/book.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore, WEEK } from '../../factories/salon.js';

const NOW = Date.parse('2026-10-24T07:00:00Z');
const HOUR = 3_600_000;

let store: TestStore;
let place: TestSalon;
let desk: TestBook;
let guests: string[];
let services: string[];
beforeAll(async () => {
  store = await openTestStore();
  place = await makeSalon(store);
  desk = bookOf(store);
  guests = await addGuests(store, place.salon.id, 4);
  const resources = new Resources(store.units, store.reader, store.audit);
  await resources.add(place.salon.id, { kind: 'chair', name: 'Chair' }, SYSTEM);
  await resources.add(place.salon.id, { kind: 'wash-basin', name: 'Basin' }, SYSTEM);
  const wave = await store.salons.addService(
    place.salon.id,
    {
      name: 'Soft wave',
      kind: 'other',
      minutes: 60,
      priceMinor: 7000,
      resources: ['chair'],
      steps: [
        { activity: 'active', minutes: 15 },
        { activity: 'processing', minutes: 30, resources: ['wash-basin'] },
        { activity: 'active', minutes: 15, resources: ['wash-basin'] },
      ],
    },
    SYSTEM,
  );
  services = [place.fullCut.id, wave.id];
});
afterAll(() => store.close());

const localTime = (instant: number) =>
  new Date(instant).toLocaleTimeString('en-GB', {
    timeZone: 'Europe/London',
    hour: '2-digit',
    minute: '2-digit',
  });

/** Whether the working times of the test's week hold all its active steps, told by another library than the book uses. */
function insideRota({ startsAt, endsAt, steps }: Appointment): boolean {
  let at = startsAt;
  const parts = steps ?? [{ activity: 'active', minutes: (endsAt - startsAt) / 60_000 }];
  return parts.every(({ activity, minutes }) => {
    const from = localTime(at);
    at += minutes * 60_000;
    const to = localTime(at);
    const isInside = WEEK.some((entry) => entry.startsAt <= from && from < to && to <= entry.endsAt);
    return activity === 'processing' || (isInside && minutes < 12 * 60);
  });
}

it('whatever is done in whatever order: nothing held twice, nobody lost, all inside the rota', async () => {
  // Saturday to Monday over the end of British summer time.
  const when = fc.record({
    date: fc.constantFrom('2026-10-24', '2026-10-25', '2026-10-26'),
    time: fc.integer({ min: 34, max: 74 }).map((n) => localTime(Date.UTC(2026, 0, 1, 0, n * 15))),
    staff: fc.integer({ min: 0, max: 1 }),
    service: fc.integer({ min: 0, max: 1 }),
    minutes: fc.option(fc.integer({ min: 1, max: 24 }).map((n) => n * 5)),
  });
  const step = fc.oneof(
    { weight: 5, arbitrary: fc.record({ do: fc.constant('book' as const), guest: fc.nat(3), when }) },
    { weight: 4, arbitrary: fc.record({ do: fc.constant('move' as const), which: fc.nat(20), when }) },
    {
      weight: 5,
      arbitrary: fc.record({
        do: fc.constantFrom('cancel', 'arrive', 'unArrive', 'noShow', 'markDone'),
        which: fc.nat(20),
      }),
    },
    {
      weight: 1,
      arbitrary: fc.record({ do: fc.constant('wait' as const), hours: fc.integer({ min: 1, max: 12 }) }),
    },
  );
  const after: Record<string, AppointmentState> = {
    cancel: 'cancelled',
    arrive: 'arrived',
    unArrive: 'booked',
    noShow: 'no-show',
    markDone: 'done',
  };
  let taken = 0;
  let stepped = 0;
  await fc.assert(
    fc.asyncProperty(fc.array(step, { minLength: 5, maxLength: 30 }), async (steps) => {
      await store.units.run((manager) => manager.createQueryBuilder().delete().from(Appointment).execute());
      store.clock.at = NOW;
      const known = new Map<string, AppointmentState>();
      const stylists = [place.mara.id, place.ilan.id];
      const take = async (one: (typeof steps)[number]): Promise<void> => {
        if (one.do === 'wait') {
          store.clock.at += one.hours * HOUR;
        } else if (one.do === 'book') {
          const { staff, service, ...time } = one.when;
          const wish = {
            clientId: guests[one.guest],
            staffId: stylists[staff],
            serviceId: services[service],
            ...time,
          };
          known.set((await desk.book.book(wish, SYSTEM)).id, 'booked');
        } else {
          const id = [...known.keys()][one.which % Math.max(1, known.size)];
          if (id === undefined) return;
          if (one.do === 'move') {
            const { staff, service, ...time } = one.when;
            const changes = { staffId: stylists[staff], serviceId: services[service], ...time };
            await desk.book.move(id, changes, SYSTEM);
          } else {
            if (one.do === 'cancel') await desk.book.cancel(id, {}, SYSTEM);
            if (one.do === 'arrive') await desk.book.arrive(id, SYSTEM);
            if (one.do === 'unArrive') await desk.book.unArrive(id, SYSTEM);
            if (one.do === 'noShow') await desk.book.noShow(id, SYSTEM);
            if (one.do === 'markDone') await store.units.run((manager) => desk.book.markDone(manager, id));
            known.set(id, after[one.do]!);
          }
        }
        taken++;
      };
      for (const one of steps) {
        await take(one).catch((error: unknown) => {
          if (!(error instanceof DomainError)) throw error;
        });
      }
      const rows = await store.reader.manager.find(Appointment);
      stepped += rows.filter(({ steps }) => steps).length;
      expect(new Map(rows.map(({ id, state }) => [id, state]))).toEqual(known);
      expect(rows.filter((row) => !insideRota(row))).toEqual([]);
      expect(await bookFaults(store)).toEqual([]);
    }),
    { numRuns: 40 },
  );
  expect(taken).toBeGreaterThan(100);
  expect(stepped).toBeGreaterThan(10);
});
