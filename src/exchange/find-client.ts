import type { EntityManager } from 'typeorm';
import { DomainError } from '../base/index.js';
import { foldName } from '../clients/index.js';
import type { NamedClient } from './client-cells.js';
import { ClientLookup, type KnownClient, knownClients, rowsByKey } from './client-lookup.js';
import type { RowCells } from './row-cells.js';
import { digestOf } from './row-keys.js';

/** What remembers a client by the number that the old records gave her. */
export function clientNumberKey(number: string): string {
  return digestOf(['client number', number.trim().toLowerCase()]);
}

export function fullName({ givenName, familyName }: Pick<KnownClient, 'givenName' | 'familyName'>): string {
  return `${givenName} ${familyName}`.trim();
}

/** Finds the clients that rows of visits, tests and appointments are about. */
export class ClientFinder {
  private constructor(
    private readonly lookup: ClientLookup,
    private readonly numbers: ReadonlyMap<string, string>,
  ) {}

  static async for(
    manager: EntityManager,
    salonId: string,
    named: readonly NamedClient[],
  ): Promise<ClientFinder> {
    const keys = named.filter(({ number }) => number !== '').map(({ number }) => clientNumberKey(number));
    const rows = await rowsByKey(manager, salonId, 'clients', [...new Set(keys)]);
    const lookup = await ClientLookup.of(manager, salonId, {
      phones: named.flatMap(({ phone }) => phone ?? []),
      emails: named.flatMap(({ email }) => email ?? []),
      born: [],
      names: named.flatMap(({ givenName, familyName }) =>
        givenName === '' ? [] : [`${givenName} ${familyName}`, `${familyName} ${givenName}`],
      ),
    });
    const numbers = new Map([...rows].map(([key, row]) => [key, row.clientId]));
    for (const client of await knownClients(manager, salonId, [...numbers.values()])) lookup.add(client);
    return new ClientFinder(lookup, numbers);
  }

  /**
   * The one client that is meant: by her number, else by phone or mail, else by name and birthday, else by a name that
   * only one client has. Throws IMPORT.NO_CLIENT or IMPORT.WHICH_CLIENT with the remedy.
   */
  find(named: NamedClient, row: RowCells): KnownClient {
    const { number, givenName, familyName, phone, email, birthday } = named;
    if (number !== '') {
      const known = this.lookup.get(this.numbers.get(clientNumberKey(number)) ?? '');
      if (known) return known;
    }
    const sameContact = [...new Set([...this.lookup.withPhone(phone), ...this.lookup.withEmail(email)])];
    const given = foldName(givenName);
    const fits = (client: KnownClient) =>
      given === '' || foldName(client.givenName) === given || foldName(client.knownAs ?? '') === given;
    const born = (client: KnownClient) => !birthday || !client.birthday || client.birthday === birthday;
    const byContact = sameContact.filter((client) => fits(client) && born(client));
    if (byContact.length > 0) return onlyOne(byContact, row);
    const byName = given === '' ? [] : this.lookup.withName(givenName, familyName).filter(born);
    if (byName.length > 0) return onlyOne(byName, row);
    const field =
      ['number', 'phone', 'email', 'name', 'givenName'].find((key) => row.text(key) !== '') ?? 'name';
    throw DomainError.invalid(
      'IMPORT.NO_CLIENT',
      row.column(field),
      given === '' && number === '' && !phone && !email
        ? 'This row names no client. Give a client number, a phone, a mail address or a name.'
        : `There is no such client here (${[number, fullName(named), phone, email].filter(Boolean).join(', ')}). Import the clients first, or check the spelling.`,
    );
  }
}

function onlyOne(clients: readonly KnownClient[], row: RowCells): KnownClient {
  const [first] = clients;
  if (first && clients.length === 1) return first;
  throw DomainError.invalid(
    'IMPORT.WHICH_CLIENT',
    row.column('name'),
    `${clients.length} clients here could be meant. Give her phone, mail address, birthday or client number as well.`,
  );
}
