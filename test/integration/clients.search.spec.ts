import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { Clients } from '../../src/clients/index.js';
import { clientsOf, makeClient } from '../factories/clients.js';
import { makeSalon, openTestStore, type TestStore } from '../factories/salon.js';

const NAMES = [
  ['Zoë', 'Krämer-Lund', '020 7946 0001'],
  ['Søren', 'Łukasik', '020 7946 0002'],
  ['Ottilie', 'Farnsby', '07700 900123'],
  ['Otto', 'Farnsworth', '07700 900124'],
  ["D'Arcy", 'O’Brien', '01632 960555'],
  ['Jóhann', 'Strauß', '01632 960556'],
  ['Li', 'Na', '01632 960557'],
] as const;

describe('searching clients', () => {
  let store: TestStore;
  let clients: Clients;
  let salonId: string;

  beforeAll(async () => {
    store = await openTestStore();
    clients = clientsOf(store);
    salonId = (await makeSalon(store)).salon.id;
    for (const [givenName, familyName, phone] of NAMES) {
      await makeClient(store, salonId, { givenName, familyName, phone });
    }
  });
  afterAll(() => store.close());

  const found = async (text: string, limit?: number) =>
    (await clients.search(salonId, text, limit)).map((client) => client.givenName);

  it.each([
    ['zoe', 'Zoë'],
    ['KRAMER LUND', 'Zoë'],
    ['lund, zoe', 'Zoë'],
    ['soren lukasik', 'Søren'],
    ['strauss', 'Jóhann'],
    ['Strauß', 'Jóhann'],
    ['darcy', "D'Arcy"],
    ["d'arcy obrien", "D'Arcy"],
    ['Ottilie Farns', 'Ottilie'],
    ['+44 7700 900 123', 'Ottilie'],
    ['07700900123', 'Ottilie'],
    ['0044 7700 900123', 'Ottilie'],
    ['+44 (0)7700 900123', 'Ottilie'],
    ['900 123', 'Ottilie'],
    ['farns 124', 'Otto'],
  ])('finds by "%s" the one it is', async (text, name) => {
    expect(await found(text)).toEqual([name]);
  });

  it.each([
    ['otilie', 'Ottilie', 'a letter too few'],
    ['otttilie', 'Ottilie', 'a letter too many'],
    ['ottelie', 'Ottilie', 'a wrong letter'],
    ['ottiile frnsby', 'Ottilie', 'a swap and a letter too few'],
    ['lukasick', 'Søren', 'another spelling'],
    ['o brien', "D'Arcy", 'a blank for the apostrophe'],
  ])('finds by "%s" %s first: %s', async (text, name) => {
    expect((await found(text))[0]).toBe(name);
  });

  it('puts whole words before beginnings', async () => {
    await makeClient(store, salonId, { givenName: 'Annabel', familyName: 'Aaron' });
    await makeClient(store, salonId, { givenName: 'Anna', familyName: 'Zimmer' });
    expect((await found('anna')).slice(0, 2)).toEqual(['Anna', 'Annabel']);
  });

  it.each(['', '   ', '-', '%', '_', "'", 'xyzzyq', 'li xyzzyq', '999999999999'])(
    'finds nobody by "%s"',
    async (text) => {
      expect(await found(text)).toEqual([]);
    },
  );

  it('gives no more than asked for, and nobody of another salon', async () => {
    expect(await found('a', 2)).toHaveLength(2);
    const other = (await makeSalon(store)).salon.id;
    expect(await clients.search(other, 'ottilie')).toEqual([]);
  });

  it('follows a changed name and phone', async () => {
    const client = await makeClient(store, salonId, { givenName: 'Perpetua', phone: '01632 960600' });
    await clients.change(
      client.id,
      { expectedVersion: 1, givenName: 'Quintilla', phone: '01632 960601' },
      { accountId: null, role: 'desk' },
    );
    expect([await found('perpetua'), await found('960600')]).toEqual([[], []]);
    expect([await found('quintilla'), await found('960601')]).toEqual([['Quintilla'], ['Quintilla']]);
  });
});
