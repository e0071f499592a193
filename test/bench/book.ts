import type { FixedClock } from '../../src/base/index.js';
import { Appointment, Claim, Slots } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { Audit, SYSTEM } from '../../src/identity/index.js';
import { type Resource, Resources, type Salons } from '../../src/salon/index.js';
import { isPostgres, newId, type Reader, type UnitOfWork } from '../../src/store/index.js';
import { openTestStore } from '../factories/salon.js';
import { type BenchOptions, type BenchRow, quartersRow } from './row.js';

/** Of reading the appointments. */
const MOST_TIMES = 2;
const STYLISTS = 20;
const DAYS = 60;
const HOUR = 3_600_000;
const DAY = 24 * HOUR;
/** A Monday in winter: the salon's clock is UTC. */
const FIRST_DAY = Date.parse('2026-11-02T00:00:00Z');

/** Minutes since midnight and lengths of a stylist's usual day: 7.5 hours of work, a quarter of it still free. */
const USUAL_DAY = [
  [540, 45],
  [585, 45],
  [645, 30],
  [690, 45],
  [735, 30],
  [810, 60],
  [885, 45],
  [975, 45],
] as const;

/**
 * Searches 60 days of 20 stylists for a slot, beside reading the very same appointments from the same database through the
 * same reader with plain SQL, by turns.
 */
export async function benchSlots({ quick }: BenchOptions): Promise<BenchRow[]> {
  const rounds = quick ? 10 : 60;
  const { sources, units, reader, clock, salons, close } = await openTestStore(
    new Date(FIRST_DAY - DAY).toISOString(),
  );
  try {
    const slots = new Slots(reader, clock, salons);
    const { salonId, plain, stepped } = await fill(units, reader, clock, salons);
    // As autovacuum does by itself, but now.
    if (isPostgres(reader.manager)) await sources.writer.query('ANALYZE');
    const toDate = new Date(FIRST_DAY + (DAYS - 1) * DAY).toISOString().slice(0, 10);
    const ask = { salonId, fromDate: '2026-11-02', toDate, nearDate: '2026-12-01', limit: 3 };
    const marks = isPostgres(reader.manager) ? ['$1', '$2', '$3'] : ['?', '?', '?'];
    const raw = (): Promise<unknown[]> =>
      reader.manager.query(
        `SELECT * FROM appointment WHERE "salonId" = ${marks[0]} AND "startsAt" >= ${marks[1]} AND "startsAt" < ${marks[2]} ORDER BY "startsAt"`,
        [salonId, FIRST_DAY, FIRST_DAY + DAYS * DAY],
      );
    const timed = async (work: () => Promise<unknown>): Promise<number> => {
      const start = performance.now();
      await work();
      return performance.now() - start;
    };
    const read = (await raw()).length;
    const took: { readonly raw: number; readonly plain: number; readonly stepped: number }[] = [];
    // The first fifth only warms up.
    for (let round = -rounds / 5; round < rounds; round += 1) {
      const one = {
        raw: await timed(raw),
        plain: await timed(() => slots.find({ ...ask, serviceId: plain })),
        stepped: await timed(() => slots.find({ ...ask, serviceId: stepped })),
      };
      if (round >= 0) took.push(one);
    }
    const times = (which: 'raw' | 'plain' | 'stepped') => took.map((one) => one[which]);
    const ratios = (which: 'plain' | 'stepped') => took.map((one) => one[which] / one.raw);
    return [
      quartersRow(`reading ${read} appointments raw`, times('raw'), 'ms'),
      quartersRow('slot search for a cut', times('plain'), 'ms'),
      quartersRow('slot search for a cut / reading raw', ratios('plain'), 'ratio', MOST_TIMES),
      quartersRow(
        'slot search for steps, chair and basin / reading raw',
        ratios('stepped'),
        'ratio',
        MOST_TIMES,
      ),
    ];
  } finally {
    await close();
  }
}

/** A salon of 20 with a book that is three quarters full, every appointment holding its stylist and a chair. */
async function fill(units: UnitOfWork, reader: Reader, clock: FixedClock, salons: Salons) {
  const audit = new Audit(clock);
  const { id: salonId } = await salons.add(
    {
      name: 'Wren & Tallow',
      zone: 'Europe/London',
      units: 'cm',
      currency: 'GBP',
      locale: 'en-GB',
      phoneRegion: 'GB',
      email: 'chairs@wren-tallow.example.org',
      phone: '020 7946 0301',
      address: '3 Candle Row, Oxmarsh',
    },
    SYSTEM,
  );
  const cut = { name: 'Full cut', kind: 'full-cut', minutes: 45, priceMinor: 5200 };
  const { id: plain } = await salons.addService(salonId, cut, SYSTEM);
  const wave = {
    name: 'Soft wave',
    kind: 'other',
    minutes: 90,
    priceMinor: 7000,
    resources: ['chair'],
    steps: [
      { activity: 'active', minutes: 30 },
      { activity: 'processing', minutes: 40 },
      { activity: 'active', minutes: 20, resources: ['wash-basin'] },
    ],
  };
  const { id: stepped } = await salons.addService(salonId, wave, SYSTEM);
  const resources = new Resources(units, reader, audit);
  const chairs: Resource[] = [];
  for (let i = 1; i <= STYLISTS; i++) {
    chairs.push(await resources.add(salonId, { kind: 'chair', name: `Chair ${i}` }, SYSTEM));
  }
  for (let i = 1; i <= 4; i++) {
    await resources.add(salonId, { kind: 'wash-basin', name: `Basin ${i}` }, SYSTEM);
  }
  const clientId = newId();
  await units.run((manager) =>
    manager.insert(Client, {
      id: clientId,
      version: 1,
      salonId,
      givenName: 'Guest',
      familyName: 'One',
      searchText: 'guest one',
      addedAt: 0,
    }),
  );
  const week = [1, 2, 3, 4, 5, 6].flatMap((weekday) => [
    { weekday, startsAt: '09:00', endsAt: '13:00' },
    { weekday, startsAt: '13:30', endsAt: '18:00' },
  ]);
  for (let i = 0; i < STYLISTS; i++) {
    const { id: staffId } = await salons.addStaff(salonId, { name: `Stylist ${i + 1}` }, SYSTEM);
    await salons.setRota(staffId, { entries: week }, SYSTEM);
    const resourceId = chairs[i]!.id;
    const appointments: Partial<Appointment>[] = [];
    const claims: Partial<Claim>[] = [];
    for (let day = 0; day < DAYS; day++) {
      if (new Date(FIRST_DAY + day * DAY).getUTCDay() === 0) continue;
      for (const [from, minutes] of USUAL_DAY) {
        const startsAt = FIRST_DAY + day * DAY + from * 60_000;
        const endsAt = startsAt + minutes * 60_000;
        const appointmentId = newId();
        appointments.push({
          id: appointmentId,
          version: 1,
          salonId,
          clientId,
          staffId,
          serviceId: plain,
          startsAt,
          endsAt,
          state: 'booked',
          bookedAt: 0,
          notes: '',
        });
        claims.push({ id: newId(), appointmentId, staffId, resourceId: null, startsAt, endsAt });
        claims.push({ id: newId(), appointmentId, staffId: null, resourceId, startsAt, endsAt });
      }
    }
    await units.run(async (manager) => {
      await manager.insert(Appointment, appointments);
      await manager.insert(Claim, claims);
    });
  }
  return { salonId, plain, stepped };
}
