import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { Client, type Clients, Consent } from '../../src/clients/index.js';
import { type Actor, AuditEntry, SYSTEM } from '../../src/identity/index.js';
import { CLIENT_INPUT, clientsOf, makeClient } from '../factories/clients.js';
import type { TestSalon, TestStore } from '../factories/salon.js';
import { makeSalon, openTestStore } from '../factories/salon.js';

const NOBODY = '01890000-0000-7000-8000-000000000000';
const DESK: Actor = { accountId: null, role: 'desk' };
const STYLIST: Actor = { accountId: null, role: 'stylist' };

describe('clients', () => {
  let store: TestStore;
  let clients: Clients;
  let here: TestSalon;
  let salonId: string;

  beforeAll(async () => {
    store = await openTestStore('2026-06-01T08:00:00Z');
    clients = clientsOf(store);
    here = await makeSalon(store);
    salonId = here.salon.id;
  });
  afterAll(() => store.close());

  const count = () => store.reader.manager.count(Client);
  const auditOf = (subjectId: string, action: string) =>
    store.reader.manager.findBy(AuditEntry, { subjectId, action });

  it('keeps what was given, the phone in E.164 and the mail in lower case', async () => {
    const { client } = await clients.add(
      {
        ...CLIENT_INPUT,
        salonId,
        phone: '(020) 7946 0123',
        email: ' Ottilie@Example.ORG ',
        preferredStaffId: here.mara.id,
        headCircumferenceMm: '561',
        whorlSide: 'right',
        partingSide: 'left',
        statedHair: { ancestry: 'european', texture: 'wavy', age: '' },
        notes: '',
      },
      SYSTEM,
    );
    expect(await clients.get(client.id)).toMatchObject({
      // ITU-T E.164: +, country code 44, national number without the trunk prefix 0.
      phone: '+442079460123',
      email: 'ottilie@example.org',
      preferredStaffId: here.mara.id,
      headCircumferenceMm: 561,
      whorlSide: 'right',
      partingSide: 'left',
      statedHair: { ancestry: 'european', texture: 'wavy' },
      notes: '',
      knownAs: null,
      version: 1,
    });
  });

  it('reads national numbers by the country of the salon', async () => {
    const abroad = await makeSalon(store, {
      zone: 'America/New_York',
      phoneRegion: 'US',
      phone: '+1 212 555 0100',
    });
    const client = await makeClient(store, abroad.salon.id, { phone: '(212) 555-0147' });
    expect(client.phone).toBe('+12125550147');
  });

  it.each([
    ['no given name', { givenName: ' ' }, 'givenName'],
    ['a given name of two lines', { givenName: 'Ot\ntilie' }, 'givenName'],
    ['81 characters of name', { familyName: 'x'.repeat(81) }, 'familyName'],
    ['a name that is no text', { familyName: { a: 1 } }, 'familyName'],
    ['a phone of letters', { phone: 'ring me' }, 'phone'],
    ['a phone too short', { phone: '020' }, 'phone'],
    ['a phone with a tail', { phone: '020 7946 0123 00000' }, 'phone'],
    ['a mail without a place', { email: 'ottilie@' }, 'email'],
    ['a birthday to come', { birthday: '2026-06-02' }, 'birthday'],
    ['a birthday 120 years and a day ago', { birthday: '1906-05-31' }, 'birthday'],
    ['a day that is not', { birthday: '1990-02-30' }, 'birthday'],
    ['a head of 399 mm', { headCircumferenceMm: 399 }, 'headCircumferenceMm'],
    ['a head of 701 mm', { headCircumferenceMm: 701 }, 'headCircumferenceMm'],
    ['a head without a number', { headCircumferenceMm: Number.NaN }, 'headCircumferenceMm'],
    ['a head in words', { headCircumferenceMm: 'wide' }, 'headCircumferenceMm'],
    ['a whorl behind the ear', { whorlSide: 'ear' }, 'whorlSide'],
    ['a parting that is none of the choices', { partingSide: 'zigzag' }, 'partingSide'],
    ['an unknown ancestry', { statedHair: { ancestry: 'martian' } }, 'statedHair.ancestry'],
    ['a guess beside the stated hair', { statedHair: { guess: 'fine' } }, 'statedHair.guess'],
    ['stated hair that is no object', { statedHair: 'wavy' }, 'statedHair'],
    ['a stylist of nowhere', { preferredStaffId: NOBODY }, 'preferredStaffId'],
    ['10,001 characters of notes', { notes: 'x'.repeat(10_001) }, 'notes'],
    ['a field that does not exist', { colour: 'teal' }, 'colour'],
  ])('refuses %s, names the field and stores nothing', async (_name, changes, field) => {
    const before = await count();
    await expect(clients.add({ ...CLIENT_INPUT, salonId, ...changes }, SYSTEM)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [{ field, message: expect.stringMatching(/\w/) }],
    });
    expect(await count()).toBe(before);
  });

  it('takes birthdays from 120 years ago to today', async () => {
    const oldest = await makeClient(store, salonId, { birthday: '1906-06-01' });
    const newest = await makeClient(store, salonId, { birthday: '2026-06-01' });
    expect([oldest.birthday, newest.birthday]).toEqual(['1906-06-01', '2026-06-01']);
  });

  it('names every wrong field at once', async () => {
    await expect(
      clients.add({ ...CLIENT_INPUT, salonId, phone: '12', birthday: '2030-01-01' }, SYSTEM),
    ).rejects.toMatchObject({ fields: [{ field: 'phone' }, { field: 'birthday' }] });
  });

  it('says which client or salon is missing', async () => {
    await expect(clients.get(NOBODY)).rejects.toMatchObject({ code: 'CLIENT.NOT_FOUND' });
    await expect(clients.add({ ...CLIENT_INPUT, salonId: NOBODY }, SYSTEM)).rejects.toMatchObject({
      code: 'SALON.NOT_FOUND',
    });
  });

  describe('changing', () => {
    it('keeps what is not given, empties what is blank, and says on the audit trail what changed', async () => {
      const client = await makeClient(store, salonId, { phone: '07700 900123', knownAs: 'Tilly' });
      const { client: changed } = await clients.change(
        client.id,
        { expectedVersion: client.version, knownAs: '', familyName: 'Marrowby' },
        DESK,
      );
      expect(changed).toMatchObject({
        givenName: 'Ottilie',
        familyName: 'Marrowby',
        knownAs: null,
        phone: '+447700900123',
        version: 2,
      });
      expect(await auditOf(client.id, 'client.change')).toMatchObject([
        { details: { fields: 'familyName knownAs' } },
      ]);
    });

    it('refuses the second of two editors, who loses nothing and overwrites nothing', async () => {
      const client = await makeClient(store, salonId);
      await clients.change(client.id, { expectedVersion: 1, notes: 'from the first' }, DESK);
      await expect(
        clients.change(client.id, { expectedVersion: 1, notes: 'from the second' }, STYLIST),
      ).rejects.toMatchObject({ kind: 'conflict', code: 'CLIENT.STALE', details: { version: 2 } });
      expect(await clients.get(client.id)).toMatchObject({ notes: 'from the first', version: 2 });
    });

    it.each([
      ['no version', { notes: 'x' }, 'expectedVersion'],
      ['a given name taken away', { expectedVersion: 1, givenName: null }, 'givenName'],
      ['another salon', { expectedVersion: 1, salonId: NOBODY }, 'salonId'],
    ])('refuses %s', async (_name, input, field) => {
      const client = await makeClient(store, salonId);
      await expect(clients.change(client.id, input, DESK)).rejects.toMatchObject({ fields: [{ field }] });
    });
  });

  describe('possible doubles', () => {
    it('are named with what they share, and refused they are not', async () => {
      const first = await makeClient(store, salonId, {
        givenName: 'Ánna',
        familyName: "O'Dell",
        birthday: '1971-03-04',
        phone: '01632 960111',
        email: 'anna.odell@example.net',
      });
      const add = async (changes: object) =>
        (await clients.add({ salonId, givenName: 'Zed', ...changes }, DESK)).possibleDoubles;
      const double = (...reasons: string[]) => [{ id: first.id, name: "Ánna O'Dell", reasons }];

      expect(await add({ phone: '+44 1632 960111' })).toEqual(double('phone'));
      expect(await add({ email: 'Anna.ODell@example.net' })).toEqual(double('email'));
      expect(await add({ givenName: 'odell', familyName: 'ANNA', birthday: '1971-03-04' })).toEqual(
        double('name-and-birthday'),
      );
      expect(await add({ birthday: '1971-03-04' })).toEqual([]);
      expect(await add({ givenName: 'Anna', familyName: 'Odell' })).toEqual([]);
    });

    it('stay within the salon', async () => {
      await makeClient(store, salonId, { phone: '01632 960222' });
      const other = await makeSalon(store);
      const { possibleDoubles } = await clients.add(
        { ...CLIENT_INPUT, salonId: other.salon.id, phone: '01632 960222' },
        DESK,
      );
      expect(possibleDoubles).toEqual([]);
    });
  });

  describe('health notes', () => {
    it('come with no ordinary load and are read only by those with the right, each look audited', async () => {
      const words = 'swells from nickel clips';
      const client = await makeClient(store, salonId, { healthNotes: words }, STYLIST);
      expect(JSON.stringify(await clients.get(client.id))).not.toContain('nickel');
      expect(await clients.search(salonId, 'nickel')).toEqual([]);

      await expect(clients.healthNotes(client.id, DESK)).rejects.toMatchObject({
        kind: 'forbidden',
        code: 'CLIENT.HEALTH_FORBIDDEN',
      });
      expect(await auditOf(client.id, 'client.health.look')).toEqual([]);
      expect(await clients.healthNotes(client.id, STYLIST)).toBe(words);
      expect(await clients.healthNotes(client.id, { accountId: null, role: 'owner' })).toBe(words);

      const trail = await store.reader.manager.findBy(AuditEntry, { subjectId: client.id });
      expect(trail.filter((entry) => entry.action === 'client.health.look')).toHaveLength(2);
      expect(JSON.stringify(trail)).not.toContain('nickel');
    });

    it('are written only by those with the right', async () => {
      const client = await makeClient(store, salonId, { healthNotes: 'first' });
      const change = (actor: Actor, healthNotes: string) =>
        clients.change(client.id, { expectedVersion: 1, healthNotes }, actor);
      await expect(change(DESK, 'second')).rejects.toMatchObject({ fields: [{ field: 'healthNotes' }] });
      await expect(change({ accountId: null, role: 'client' }, 'second')).rejects.toMatchObject({
        kind: 'forbidden',
      });
      expect(await clients.healthNotes(client.id, STYLIST)).toBe('first');
      await change(STYLIST, 'third');
      expect(await clients.healthNotes(client.id, STYLIST)).toBe('third');
    });

    it('survive a change of something else', async () => {
      const client = await makeClient(store, salonId, { healthNotes: 'kept' });
      await clients.change(client.id, { expectedVersion: 1, notes: 'likes tea' }, DESK);
      expect(await clients.healthNotes(client.id, STYLIST)).toBe('kept');
    });
  });

  describe('consents', () => {
    const may = (clientId: string, purpose: 'appointment' | 'rebooking') =>
      clients.mayMessage(store.reader.manager, clientId, 'mail', purpose);

    it('are no until a yes, go by the newest answer and by channel and purpose', async () => {
      const { id } = await makeClient(store, salonId);
      expect(await may(id, 'appointment')).toBe(false);
      await clients.setConsent(id, { channel: 'mail', purpose: 'appointment', given: true }, DESK);
      await clients.setConsent(id, { channel: 'text', purpose: 'rebooking', given: true }, DESK);
      expect([await may(id, 'appointment'), await may(id, 'rebooking')]).toEqual([true, false]);

      await clients.setConsent(
        id,
        { channel: 'mail', purpose: 'appointment', given: false },
        { accountId: null, role: 'client' },
      );
      expect(await may(id, 'appointment')).toBe(false);
      expect(await clients.consents(id)).toMatchObject([
        { channel: 'mail', purpose: 'appointment', given: false, source: 'link' },
        { channel: 'text', purpose: 'rebooking', given: true, source: 'desk' },
      ]);
      expect(await store.reader.manager.countBy(Consent, { clientId: id })).toBe(3);
    });

    it.each([
      ['an unknown channel', { channel: 'pigeon', purpose: 'appointment', given: true }, 'channel'],
      ['an unknown purpose', { channel: 'mail', purpose: 'gossip', given: true }, 'purpose'],
      ['no answer', { channel: 'mail', purpose: 'appointment' }, 'given'],
    ])('refuse %s', async (_name, input, field) => {
      const { id } = await makeClient(store, salonId);
      await expect(clients.setConsent(id, input, DESK)).rejects.toMatchObject({ fields: [{ field }] });
      expect(await clients.consents(id)).toEqual([]);
    });

    it('belong to a client that exists', async () => {
      await expect(
        clients.setConsent(NOBODY, { channel: 'mail', purpose: 'appointment', given: true }, DESK),
      ).rejects.toMatchObject({ code: 'CLIENT.NOT_FOUND' });
    });
  });
});
