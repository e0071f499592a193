import { Book, BookEffects, Slots } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { Salons } from '../../src/salon/index.js';
import { ColourGate } from '../../src/skin-tests/index.js';
import { newId } from '../../src/store/index.js';
import { makeClient } from './clients.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from './salon.js';

export type TestBook = { readonly book: Book; readonly slots: Slots; readonly effects: BookEffects };

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
  return {
    effects,
    slots,
    book: new Book(units, reader, clock, audit, salons, slots, effects, new ColourGate()),
  };
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
export async function addGuests({ units }: TestStore, salonId: string, count: number): Promise<string[]> {
  const guests = Array.from({ length: count }, (_, i) => ({
    id: newId(),
    version: 1,
    salonId,
    givenName: 'Guest',
    familyName: `Number ${i + 1}`,
    searchText: `guest number ${i + 1}`,
    addedAt: 0,
  }));
  await units.run((manager) => manager.insert(Client, guests));
  return guests.map(({ id }) => id);
}

/**
 * What is wrong with the whole book, asked of the database in its own words; an empty list when nothing is: no stylist's
 * time held twice, no client in two chairs, every appointment that stands holding just its time and no other any.
 */
export async function bookFaults({ reader }: TestStore): Promise<unknown[]> {
  const ask = (sql: string): Promise<unknown[]> => reader.manager.query(sql);
  const standing = `('booked', 'arrived', 'done')`;
  return [
    ...(await ask(`SELECT 'stylist twice' AS fault, a.id, b.id AS other FROM claim a JOIN claim b
      ON a."staffId" = b."staffId" AND a.id < b.id AND a."startsAt" < b."endsAt" AND b."startsAt" < a."endsAt"`)),
    ...(await ask(`SELECT 'client twice' AS fault, a.id, b.id AS other FROM appointment a JOIN appointment b
      ON a."clientId" = b."clientId" AND a.id < b.id AND a."startsAt" < b."endsAt" AND b."startsAt" < a."endsAt"
      WHERE a.state IN ${standing} AND b.state IN ${standing}`)),
    ...(await ask(`SELECT 'holds nothing' AS fault, a.id FROM appointment a WHERE a.state IN ${standing} AND 1 <>
      (SELECT COUNT(*) FROM claim c WHERE c."appointmentId" = a.id AND c."staffId" = a."staffId"
       AND c."startsAt" = a."startsAt" AND c."endsAt" = a."endsAt")`)),
    ...(await ask(`SELECT 'holds what it should not' AS fault, c.id FROM claim c JOIN appointment a
      ON a.id = c."appointmentId" WHERE a.state NOT IN ${standing}`)),
    ...(await ask(
      `SELECT 'ends before it starts' AS fault, id FROM appointment WHERE "endsAt" <= "startsAt"`,
    )),
  ];
}
