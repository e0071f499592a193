import { type EntityManager, In } from 'typeorm';
import { Client, foldName } from '../clients/index.js';
import { ImportedRow } from './entities.js';

const CHUNK = 500;
const NAMES_AT_ONCE = 100;

/** What clients are looked up by. */
export type Sought = {
  readonly phones: readonly string[];
  readonly emails: readonly string[];
  readonly birthdays: readonly string[];
  /** Given and family name in one. */
  readonly names: readonly string[];
};

/** Folded words of a name in any order: "Ada Lark" and "lark, ada" agree. */
export function nameKey(givenName: string, familyName: string): string {
  return foldName(`${givenName} ${familyName}`).split(' ').sort().join(' ');
}

function together<K>(map: Map<K, Client[]>, key: K, client: Client): void {
  const list = map.get(key);
  if (!list) map.set(key, [client]);
  else if (!list.includes(client)) list.push(client);
}

/** Clients that rows of a batch may mean, found with a few questions for all of them; new ones can be added. */
export class ClientLookup {
  private readonly phones = new Map<string, Client[]>();
  private readonly emails = new Map<string, Client[]>();
  private readonly birthdays = new Map<string, Client[]>();
  private readonly names = new Map<string, Client[]>();
  private readonly byId = new Map<string, Client>();

  static async of(manager: EntityManager, salonId: string, sought: Sought): Promise<ClientLookup> {
    const lookup = new ClientLookup();
    const by = async (field: 'phone' | 'email' | 'birthday', values: readonly string[]) => {
      const distinct = [...new Set(values)];
      for (let i = 0; i < distinct.length; i += CHUNK) {
        const found = await manager.findBy(Client, { salonId, [field]: In(distinct.slice(i, i + CHUNK)) });
        for (const client of found) lookup.add(client);
      }
    };
    await by('phone', sought.phones);
    await by('email', sought.emails);
    await by('birthday', sought.birthdays);
    for (const client of await named(manager, salonId, sought.names)) lookup.add(client);
    return lookup;
  }

  add(client: Client): void {
    if (client.erasedAt || this.byId.has(client.id)) return;
    this.byId.set(client.id, client);
    if (client.phone) together(this.phones, client.phone, client);
    if (client.email) together(this.emails, client.email, client);
    if (client.birthday) together(this.birthdays, client.birthday, client);
    together(this.names, nameKey(client.givenName, client.familyName), client);
  }

  get(id: string): Client | undefined {
    return this.byId.get(id);
  }

  withPhone(phone: string | undefined): readonly Client[] {
    return (phone && this.phones.get(phone)) || [];
  }

  withEmail(email: string | undefined): readonly Client[] {
    return (email && this.emails.get(email)) || [];
  }

  /** Same name in any order, and same birthday. */
  withNameAndBirthday(
    givenName: string,
    familyName: string,
    birthday: string | undefined,
  ): readonly Client[] {
    const key = nameKey(givenName, familyName);
    const born = (birthday && this.birthdays.get(birthday)) || [];
    return born.filter((client) => nameKey(client.givenName, client.familyName) === key);
  }

  withName(givenName: string, familyName: string): readonly Client[] {
    return this.names.get(nameKey(givenName, familyName)) ?? [];
  }
}

/** Clients with these very names: the search text begins with the folded name, and is indexed. */
async function named(manager: EntityManager, salonId: string, names: readonly string[]): Promise<Client[]> {
  const folded = [...new Set(names.map(foldName))].filter((name) => name !== '');
  const found: Client[] = [];
  for (let i = 0; i < folded.length; i += NAMES_AT_ONCE) {
    const some = folded.slice(i, i + NAMES_AT_ONCE);
    const query = manager
      .createQueryBuilder(Client, 'client')
      .where('client.salonId = :salonId', { salonId })
      .andWhere(
        `(${some.map((_, n) => `(client.searchText >= :from${n} AND client.searchText < :to${n})`).join(' OR ')})`,
      );
    // A blank sorts just before an exclamation mark: the name itself, or the name and something behind it.
    some.forEach((name, n) => {
      query.setParameters({ [`from${n}`]: name, [`to${n}`]: `${name}!` });
    });
    found.push(...(await query.getMany()));
  }
  return found;
}

/** Rows of a kind that were taken before, by their keys. */
export async function rowsByKey(
  manager: EntityManager,
  salonId: string,
  kind: ImportedRow['kind'],
  keys: readonly string[],
): Promise<Map<string, ImportedRow>> {
  const known = new Map<string, ImportedRow>();
  for (let i = 0; i < keys.length; i += CHUNK) {
    const rowKey = In(keys.slice(i, i + CHUNK));
    for (const row of await manager.findBy(ImportedRow, { salonId, kind, rowKey }))
      known.set(row.rowKey, row);
  }
  return known;
}

export async function clientsById(manager: EntityManager, ids: readonly string[]): Promise<Client[]> {
  const found: Client[] = [];
  const distinct = [...new Set(ids)];
  for (let i = 0; i < distinct.length; i += CHUNK) {
    found.push(...(await manager.findBy(Client, { id: In(distinct.slice(i, i + CHUNK)) })));
  }
  return found;
}
