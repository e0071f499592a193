import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type ClientRecord, Clients } from '../../src/clients/index.js';
import { SYSTEM } from '../../src/identity/index.js';
import type { Salon } from '../../src/salon/index.js';
import { CLIENT_INPUT, clientsOf, makeClient } from '../factories/clients.js';
import { makeSalon, openTestStore, type TestStore } from '../factories/salon.js';

describe('clients', () => {
  let store: TestStore;
  let clients: Clients;
  let salon: Salon;

  beforeAll(async () => {
    store = await openTestStore('2026-06-01T08:00:00Z');
    clients = clientsOf(store);
    ({ salon } = await makeSalon(store));
  });
  afterAll(() => store.close());

  it('keeps what was given, the phone in E.164 and the mail in lower case', async () => {
    const { client } = await clients.add(
      {
        ...CLIENT_INPUT,
        salonId: salon.id,
        phone: '(020) 7946 0123',
        email: ' Ottilie@Example.ORG ',
        headCircumferenceMm: '561',
        whorlSide: 'right',
        partingSide: 'left',
        statedHair: { ancestry: 'european', texture: 'wavy', age: '' },
        notes: '',
      },
      SYSTEM,
    );
    expect(await clients.get(client.id)).toMatchObject({
      // ITU-T E.164: + , country code 44, national number without the trunk prefix 0.
      phone: '+442079460123',
      email: 'ottilie@example.org',
      headCircumferenceMm: 561,
      whorlSide: 'right',
      partingSide: 'left',
      statedHair: { ancestry: 'european', texture: 'wavy' },
      notes: '',
      knownAs: null,
      version: 1,
    });
  });

  it('says which client is missing', async () => {
    await expect(clients.get('01890000-0000-7000-8000-000000000000')).rejects.toMatchObject({
      code: 'CLIENT.NOT_FOUND',
    });
  });

  it('adds through the factory', async () => {
    const client: ClientRecord = await makeClient(store, salon.id, { givenName: 'Solveig' });
    expect(client.givenName).toBe('Solveig');
  });
});
