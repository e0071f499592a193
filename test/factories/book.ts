import {
  Appointment,
  Book,
  BookEffects,
  Claim,
  ClientLinks,
  Slots,
  WaitingEffects,
  WaitingList,
  WaitingOffers,
} from '../../src/book/index.js';
import { NextFree } from '../../src/book/next-free.js';
import { Client } from '../../src/clients/index.js';
import { Resource, Salons } from '../../src/salon/index.js';
import { ColourGate } from '../../src/skin-tests/index.js';
import { newId } from '../../src/store/index.js';
import { makeClient } from './clients.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from './salon.js';

/** Starts and lengths are whole minutes. */
const CELL_MS = 60_000;

export type TestBook = {
  readonly book: Book;
  readonly slots: Slots;
  readonly effects: BookEffects;
  readonly links: ClientLinks;
  readonly waiting: WaitingList;
  readonly offers: WaitingOffers;
  readonly waitingEffects: WaitingEffects;
};

/** The book's services over a test store. */
export function bookOf({
  units,
  reader,
  clock,
  audit,
}: Pick<TestStore, 'units' | 'reader' | 'clock' | 'audit'>): TestBook {
  const salons = new Salons(units, reader, audit);
  const effects = new BookEffects();
  const slots = new Slots(reader, clock, salons);
  const nextFree = new NextFree(salons, slots);
  const book = new Book(units, reader, clock, audit, salons, nextFree, effects, new ColourGate());
  const links = new ClientLinks(reader, clock, book, slots, effects);
  links.onModuleInit();
  const waiting = new WaitingList(units, reader, clock, audit, salons, slots);
  const waitingEffects = new WaitingEffects();
  const offers = new WaitingOffers(units, reader, clock, audit, book, waiting, waitingEffects);
  return { effects, slots, book, links, waiting, offers, waitingEffects };
}

/** A salon at its desk: the stylists' book, and one client. */
export type TestDesk = TestBook & {
  readonly store: TestStore;
  readonly place: TestSalon;
  readonly clientId: string;
};

/** Opens a store with a salon, its book and one client; the clock stands at `nowIso`, an instant in UTC. */
export async function openDesk(nowIso = '2026-06-01T08:00:00Z'): Promise<TestDesk> {
  const store = await openTestStore(nowIso);
  const place = await makeSalon(store);
  const { id: clientId } = await makeClient(store, place.salon.id);
  return { store, place, clientId, ...bookOf(store) };
}

/** Adds `count` clients at once and returns their ids. */
export async function addGuests(
  { units }: Pick<TestStore, 'units'>,
  salonId: string,
  count: number,
): Promise<string[]> {
  const guests = Array.from({ length: count }, (_, i) => ({
    id: newId(),
    version: 1,
    salonId,
    givenName: 'Guest',
    familyName: `Number ${i + 1}`,
    searchText: `guest number ${i + 1}`,
    addedAt: 0,
  }));
  await units.run(async (manager) => {
    // SQLite refuses to read a thousand new rows back at once, as the ORM would.
    for (let from = 0; from < count; from += 250) {
      await manager.insert(Client, guests.slice(from, from + 250));
    }
  });
  return guests.map(({ id }) => id);
}

/**
 * What is wrong with the whole book, asked of the database in its own words; an empty list when nothing is: no stylist's
 * and no resource's time held twice, no client in two chairs, every appointment that stands holding just what its steps
 * need and no other any.
 */
export async function bookFaults({ reader }: Pick<TestStore, 'reader'>): Promise<unknown[]> {
  const ask = (sql: string): Promise<unknown[]> => reader.manager.query(sql);
  const standing = `('booked', 'arrived', 'done')`;
  const twice = (column: string, fault: string) => `SELECT '${fault}' AS fault, a.id, b.id AS other
    FROM claim a JOIN claim b ON a."${column}" = b."${column}" AND a.id < b.id
    AND a."startsAt" < b."endsAt" AND b."startsAt" < a."endsAt"`;
  return [
    ...(await ask(twice('staffId', 'stylist twice'))),
    ...(await ask(twice('resourceId', 'resource twice'))),
    ...(await ask(`SELECT 'client twice' AS fault, a.id, b.id AS other FROM appointment a JOIN appointment b
      ON a."clientId" = b."clientId" AND a.id < b.id AND a."startsAt" < b."endsAt" AND b."startsAt" < a."endsAt"
      WHERE a.state IN ${standing} AND b.state IN ${standing}`)),
    ...(await ask(`SELECT 'of nobody or of two' AS fault, id FROM claim
      WHERE ("staffId" IS NULL) = ("resourceId" IS NULL)`)),
    ...(await ask(`SELECT 'ends before it starts' AS fault, id FROM claim WHERE "endsAt" <= "startsAt"`)),
    ...(await ask(
      `SELECT 'ends before it starts' AS fault, id FROM appointment WHERE "endsAt" <= "startsAt"`,
    )),
    ...(await unlikeTheirSteps(reader)),
  ];
}

/** Compares what appointments hold with their steps, minute by minute. */
async function unlikeTheirSteps(reader: TestStore['reader']): Promise<unknown[]> {
  const claims = await reader.manager.find(Claim);
  const kinds = new Map((await reader.manager.find(Resource)).map(({ id, kind }) => [id, kind]));
  const held = new Map<string, string[]>();
  for (const { appointmentId, staffId, resourceId, startsAt, endsAt } of claims) {
    const cells = held.get(appointmentId) ?? [];
    for (let at = startsAt; at < endsAt; at += CELL_MS) {
      cells.push(`${staffId ?? kinds.get(resourceId ?? '')} ${at}`);
    }
    held.set(appointmentId, cells);
  }
  return (await reader.manager.find(Appointment)).flatMap((appointment) => {
    const wanted: string[] = [];
    if (['booked', 'arrived', 'done'].includes(appointment.state)) {
      let stepEnd = appointment.startsAt;
      const length = (appointment.endsAt - appointment.startsAt) / 60_000;
      const steps = (appointment.steps ?? [{ activity: 'active', minutes: length }]).map((step) => {
        stepEnd += step.minutes * 60_000;
        return { ...step, stepEnd };
      });
      if (stepEnd !== appointment.endsAt) return [{ fault: 'steps of another length', id: appointment.id }];
      for (let at = appointment.startsAt; at < appointment.endsAt; at += CELL_MS) {
        const step = steps.find((one) => at < one.stepEnd)!;
        if (step.activity === 'active') wanted.push(`${appointment.staffId} ${at}`);
        for (const kind of new Set([...(appointment.resources ?? []), ...(step.resources ?? [])])) {
          wanted.push(`${kind} ${at}`);
        }
      }
    }
    const holds = (held.get(appointment.id) ?? []).sort().join();
    return holds === wanted.sort().join()
      ? []
      : [{ fault: 'holds other than its steps', id: appointment.id }];
  });
}
