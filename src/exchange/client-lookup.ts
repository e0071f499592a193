import { type EntityManager, In } from 'typeorm';
import { Client, foldName } from '../clients/index.js';
import { isPostgres } from '../store/index.js';
import { ImportedRow } from './entities.js';

const CHUNK = 500;
const NAMES_AT_ONCE = 100;

/** What of a client is looked at to know her again. */
export type KnownClient = Pick<
  Client,
  'id' | 'salonId' | 'givenName' | 'familyName' | 'knownAs' | 'phone' | 'email' | 'birthday'
>;

/** A name with a birthday, for which clients are looked up. */
export type Born = { readonly givenName: string; readonly familyName: string; readonly birthday: string };

/** What clients are looked up by. */
export type Sought = {
  readonly phones: readonly string[];
  readonly emails: readonly string[];
  readonly born: readonly Born[];
  /** Given and family name in one. */
  readonly names: readonly string[];
};

/** Folded words of a name in any order: "Ada Lark" and "lark, ada" agree. */
export function nameKey(givenName: string, familyName: string): string {
  return foldName(`${givenName} ${familyName}`).split(' ').sort().join(' ');
}

function put(map: Map<string, KnownClient[]>, key: string, client: KnownClient): void {
  const list = map.get(key);
  if (!list) map.set(key, [client]);
  else if (!list.includes(client)) list.push(client);
}

/** Clients that rows of a batch may mean, found with a few questions for all of them; new ones can be added. */
export class ClientLookup {
  private readonly phones = new Map<string, KnownClient[]>();
  private readonly emails = new Map<string, KnownClient[]>();
  private readonly births = new Map<string, KnownClient[]>();
  private readonly names = new Map<string, KnownClient[]>();
  private readonly byId = new Map<string, KnownClient>();

  static async of(manager: EntityManager, salonId: string, sought: Sought): Promise<ClientLookup> {
    const lookup = new ClientLookup();
    const add = (clients: readonly KnownClient[]) => {
      for (const client of clients) lookup.add(client);
    };
    add(await clientsBy(manager, salonId, 'phone', sought.phones));
    add(await clientsBy(manager, salonId, 'email', sought.emails));
    add(await clientsBorn(manager, salonId, sought.born));
    add(await clientsNamed(manager, salonId, sought.names));
    return lookup;
  }

  add(client: KnownClient): void {
    if (this.byId.has(client.id)) return;
    this.byId.set(client.id, client);
    this.learn(client);
  }

  /** Finds a client who is here by what she has come to have as well. */
  learn(client: KnownClient): void {
    const key = nameKey(client.givenName, client.familyName);
    if (client.phone) put(this.phones, client.phone, client);
    if (client.email) put(this.emails, client.email, client);
    if (client.birthday) put(this.births, `${client.birthday} ${key}`, client);
    put(this.names, key, client);
  }

  get(id: string): KnownClient | undefined {
    return this.byId.get(id);
  }

  withPhone(phone: string | null | undefined): readonly KnownClient[] {
    return (phone && this.phones.get(phone)) || [];
  }

  withEmail(email: string | null | undefined): readonly KnownClient[] {
    return (email && this.emails.get(email)) || [];
  }

  /** Same name in any order, and same birthday. */
  withNameAndBirthday(given: string, family: string, birthday: string | undefined): readonly KnownClient[] {
    return (birthday && this.births.get(`${birthday} ${nameKey(given, family)}`)) || [];
  }

  withName(givenName: string, familyName: string): readonly KnownClient[] {
    return this.names.get(nameKey(givenName, familyName)) ?? [];
  }
}

/** Plain objects: making an entity of each costs more than reading it. Who was erased is nobody any more. */
function known(manager: EntityManager) {
  return manager
    .createQueryBuilder(Client, 'client')
    .select([
      'client.id AS id',
      'client.salonId AS "salonId"',
      'client.givenName AS "givenName"',
      'client.familyName AS "familyName"',
      'client.knownAs AS "knownAs"',
      'client.phone AS phone',
      'client.email AS email',
      'client.birthday AS birthday',
    ])
    .where('client.erasedAt IS NULL');
}

async function clientsBy(
  manager: EntityManager,
  salonId: string,
  field: 'id' | 'phone' | 'email',
  values: readonly string[],
): Promise<KnownClient[]> {
  const distinct = [...new Set(values)];
  const found: KnownClient[] = [];
  for (let i = 0; i < distinct.length; i += CHUNK) {
    const some = distinct.slice(i, i + CHUNK);
    const query = known(manager).andWhere(`client.${field} IN (:...some)`, { some });
    // Asked for the salon as well, SQLite would rather look through all of its clients.
    const clients = await query.getRawMany<KnownClient>();
    found.push(...clients.filter((client) => client.salonId === salonId));
  }
  return found;
}

/**
 * Clients with one of these birthdays whose names hold a word of the name that goes with it: what else has that
 * birthday stays in the database.
 */
async function clientsBorn(
  manager: EntityManager,
  salonId: string,
  born: readonly Born[],
): Promise<KnownClient[]> {
  const numbered = isPostgres(manager);
  const found: KnownClient[] = [];
  for (let i = 0; i < born.length; i += CHUNK) {
    const values: string[] = [salonId];
    const mark = (value: string) => {
      values.push(value);
      return numbered ? `$${values.length}` : '?';
    };
    const lines = born.slice(i, i + CHUNK).map(({ givenName, familyName, birthday }) => {
      const words = foldName(`${givenName} ${familyName}`).split(' ');
      const longest = words.reduce((one, other) => (other.length > one.length ? other : one), '');
      return `(${mark(birthday)}, ${mark(`%${longest}%`)})`;
    });
    // SQLite takes marks in the order in which they stand, so the salon's comes first, and CROSS JOIN for the order in
    // which the tables are looked at: else it would look through all of the salon's clients.
    const rows: KnownClient[] = await manager.query(
      `WITH home(salon) AS (VALUES (${numbered ? '$1' : '?'})), sought(birthday, word) AS (VALUES ${lines.join(', ')})
       SELECT client.id, client."salonId", client."givenName", client."familyName", client."knownAs", client.phone,
         client.email, client.birthday
       FROM home CROSS JOIN sought CROSS JOIN client
       WHERE client."salonId" = home.salon AND client.birthday = sought.birthday
         AND client."searchText" LIKE sought.word AND client."erasedAt" IS NULL`,
      values,
    );
    found.push(...rows);
  }
  return found;
}

/** Clients with these very names: the search text begins with the folded name, and is indexed. */
async function clientsNamed(
  manager: EntityManager,
  salonId: string,
  names: readonly string[],
): Promise<KnownClient[]> {
  const folded = [...new Set(names.map(foldName))].filter((name) => name !== '');
  const found: KnownClient[] = [];
  for (let i = 0; i < folded.length; i += NAMES_AT_ONCE) {
    const some = folded.slice(i, i + NAMES_AT_ONCE);
    const either = some.map((_, n) => `(client.searchText >= :from${n} AND client.searchText < :to${n})`);
    const query = known(manager)
      .andWhere('client.salonId = :salonId', { salonId })
      .andWhere(`(${either.join(' OR ')})`);
    // A blank sorts just before an exclamation mark: the name itself, or the name and something behind it.
    some.forEach((name, n) => {
      query.setParameters({ [`from${n}`]: name, [`to${n}`]: `${name}!` });
    });
    found.push(...(await query.getRawMany<KnownClient>()));
  }
  return found;
}

/** Clients by their ids, for lookups that found them by something else. */
export function knownClients(
  manager: EntityManager,
  salonId: string,
  ids: readonly string[],
): Promise<KnownClient[]> {
  return clientsBy(manager, salonId, 'id', ids);
}

/** Rows of a kind that were taken before, by their keys. */
export async function rowsByKey(
  manager: EntityManager,
  salonId: string,
  kind: ImportedRow['kind'],
  keys: readonly string[],
): Promise<Map<string, ImportedRow>> {
  const found = new Map<string, ImportedRow>();
  for (let i = 0; i < keys.length; i += CHUNK) {
    const rowKey = In(keys.slice(i, i + CHUNK));
    for (const row of await manager.findBy(ImportedRow, { salonId, kind, rowKey }))
      found.set(row.rowKey, row);
  }
  return found;
}
