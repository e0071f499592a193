import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import type { ClientRecord } from '../../src/clients/index.js';
import { Account, type Actor, AuditEntry } from '../../src/identity/index.js';
import {
  CAUTIONS,
  ColourGate,
  MedicalClearance,
  SafetyNote,
  SafetyRecords,
  SkinTest,
  SkinTests,
} from '../../src/skin-tests/index.js';
import { newId } from '../../src/store/index.js';
import { makeClient } from '../factories/clients.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../factories/salon.js';

const NOBODY = '01890000-0000-7000-8000-000000000000';
const LINE = 'Fernlight Cream 6';
const MINUTE = 60_000;
const H48 = 48 * 60 * MINUTE;
const START = Date.parse('2026-06-01T09:00:00Z');

describe('skin tests', () => {
  let store: TestStore;
  let here: TestSalon;
  let skinTests: SkinTests;
  let records: SafetyRecords;
  let gate: ColourGate;
  let client: ClientRecord;
  let stylist: Actor;
  const owner: Actor = { accountId: null, role: 'owner' };

  beforeAll(async () => {
    store = await openTestStore();
    const { units, reader, clock, audit } = store;
    skinTests = new SkinTests(units, reader, clock, audit);
    records = new SafetyRecords(units, clock, audit);
    gate = new ColourGate();
    here = await makeSalon(store);
    const accountId = newId();
    await units.run(async (manager) => {
      await manager.insert(Account, {
        id: accountId,
        version: 1,
        email: 'mara@wren-tallow.example.org',
        name: 'Mara Quillfeather',
        role: 'stylist',
        passwordHash: 'none',
        active: true,
      });
      await manager.update('staff', { id: here.mara.id }, { accountId });
    });
    stylist = { accountId, role: 'stylist' };
  });
  afterAll(() => store.close());
  beforeEach(async () => {
    store.clock.at = START;
    client = await makeClient(store, here.salon.id);
  });

  const input = (changes: object = {}) => ({
    clientId: client.id,
    productLine: LINE,
    place: 'behind the right ear',
    ...changes,
  });
  const clearRead = async () => {
    const test = await skinTests.record(input(), stylist);
    store.clock.at = test.appliedAt + H48;
    return await skinTests.read(test.id, { result: 'clear' }, stylist);
  };
  const check = (at: number, productLine?: string) =>
    gate.check(store.reader.manager, {
      clientId: client.id,
      salonId: here.salon.id,
      at,
      now: store.clock.at,
      ...(productLine !== undefined && { productLine }),
    });
  const stored = () => store.reader.manager.countBy(SkinTest, { clientId: client.id });

  it('records a test applied now by the stylist who is signed in', async () => {
    const test = await skinTests.record(input({ makerValidDays: '28' }), stylist);
    expect(await skinTests.ofClient(client.id)).toMatchObject([
      {
        id: test.id,
        productLine: LINE,
        place: 'behind the right ear',
        appliedAt: START,
        appliedById: here.mara.id,
        state: 'applied',
        readableFrom: START + H48,
        makerValidDays: 28,
        validThrough: '2026-06-29',
      },
    ]);
    expect(
      await store.reader.manager.findBy(AuditEntry, { subjectId: client.id, action: 'skin-test.record' }),
    ).toMatchObject([{ accountId: stylist.accountId, details: { productLine: LINE } }]);
  });

  it("records one applied earlier, by the salon's clock and another of the staff", async () => {
    const test = await skinTests.record(
      input({ date: '2026-05-30', time: '16:15', appliedById: here.ilan.id }),
      stylist,
    );
    expect(test).toMatchObject({ appliedAt: Date.parse('2026-05-30T15:15Z'), appliedById: here.ilan.id });
  });

  it.each([
    ['no product line', { productLine: ' ' }, 'productLine'],
    ['no place', { place: '' }, 'place'],
    ['a moment still to come', { at: START + MINUTE }, 'at'],
    ['an hour still to come', { date: '2026-06-01', time: '10:01' }, 'date'],
    ['a date without a time', { date: '2026-05-30' }, 'time'],
    ['a time without a date', { time: '10:00' }, 'date'],
    ['a day that is not', { date: '2026-02-30', time: '10:00' }, 'date'],
    ['an hour that is not', { date: '2026-05-30', time: '25:00' }, 'time'],
    ['two moments', { at: START, date: '2026-05-30', time: '10:00' }, 'at'],
    ['a moment beyond all calendars', { at: 9e15 }, 'at'],
    ['a broken moment', { at: 'soon' }, 'at'],
    ['staff of nowhere', { appliedById: NOBODY }, 'appliedById'],
    ['one day of validity', { makerValidDays: 1 }, 'makerValidDays'],
    ['a result at once', { result: 'clear' }, 'result'],
  ])('refuses %s, naming the field, and stores nothing', async (_name, changes, field) => {
    await expect(skinTests.record(input(changes), stylist)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [{ field }],
    });
    expect(await stored()).toBe(0);
  });

  it('wants to know who applied it when the one signed in is none of the staff', async () => {
    await expect(skinTests.record(input(), owner)).rejects.toMatchObject({
      fields: [{ field: 'appliedById' }],
    });
  });

  it.each([
    ['under 16', { birthday: '2010-06-02' }, 'SKIN_TEST.UNDER_16'],
    ['without a birthday', { birthday: null }, 'SKIN_TEST.BIRTHDAY_UNKNOWN'],
  ])('is not recorded of somebody %s', async (_name, changes, code) => {
    client = await makeClient(store, here.salon.id, changes);
    await expect(skinTests.record(input(), stylist)).rejects.toMatchObject({ kind: 'refused', code });
    expect(await stored()).toBe(0);
  });

  it('is not recorded after a reaction, though one applied before it is', async () => {
    await records.note(client.id, { kind: 'colour-reaction', told: 'Swollen eyelids, spring 2021' }, stylist);
    store.clock.at += MINUTE;
    await expect(skinTests.record(input(), stylist)).rejects.toMatchObject({ code: 'SKIN_TEST.REACTION' });
    await skinTests.record(input({ at: START - MINUTE }), stylist);
    expect(await stored()).toBe(1);
  });

  it('says which client or test is missing', async () => {
    await expect(skinTests.record(input({ clientId: NOBODY }), stylist)).rejects.toMatchObject({
      code: 'CLIENT.NOT_FOUND',
    });
    await expect(skinTests.ofClient(NOBODY)).rejects.toMatchObject({ code: 'CLIENT.NOT_FOUND' });
    await expect(skinTests.read(NOBODY, { result: 'clear' }, stylist)).rejects.toMatchObject({
      code: 'SKIN_TEST.NOT_FOUND',
    });
  });

  describe('reading', () => {
    it('is clear from 48 h on, to the minute, and not before', async () => {
      const test = await skinTests.record(input(), stylist);
      store.clock.at = START + H48 - MINUTE;
      await expect(skinTests.read(test.id, { result: 'clear' }, stylist)).rejects.toMatchObject({
        code: 'SKIN_TEST.TOO_EARLY',
        // 09:00Z and 48 h, in London's summer time.
        message: expect.stringContaining('3 June 2026, 10:00'),
      });
      expect(await skinTests.ofClient(client.id)).toMatchObject([{ result: null, state: 'applied' }]);
      store.clock.at = START + H48;
      expect(await skinTests.read(test.id, { result: 'clear' }, stylist)).toMatchObject({ state: 'clear' });
    });

    it('may be a reaction at any time, with what was seen', async () => {
      const test = await skinTests.record(input(), stylist);
      store.clock.at += 5 * MINUTE;
      await expect(skinTests.read(test.id, { result: 'reacted' }, stylist)).rejects.toMatchObject({
        fields: [{ field: 'seen' }],
      });
      const read = await skinTests.read(test.id, { result: 'reacted', seen: 'red and itching' }, stylist);
      expect(read).toMatchObject({ state: 'reacted', seen: 'red and itching', readAt: store.clock.at });
    });

    it('turns from clear to reacted when it shows later, and never back', async () => {
      const test = await clearRead();
      store.clock.at += 24 * 60 * MINUTE;
      await skinTests.read(test.id, { result: 'reacted', seen: 'blisters on day 3' }, stylist);
      await expect(skinTests.read(test.id, { result: 'clear' }, stylist)).rejects.toMatchObject({
        code: 'SKIN_TEST.ALREADY_READ',
      });
      expect(await skinTests.ofClient(client.id)).toMatchObject([{ state: 'reacted' }]);
      await expect(check(store.clock.at + H48, LINE)).rejects.toMatchObject({ code: 'SKIN_TEST.REACTION' });
    });

    it('refuses a second clear reading, a lapsed test, and a moment before it was applied', async () => {
      const test = await clearRead();
      const again = skinTests.read(test.id, { result: 'clear' }, stylist);
      await expect(again).rejects.toMatchObject({ kind: 'conflict', code: 'SKIN_TEST.ALREADY_READ' });

      const old = await skinTests.record(input({ date: '2025-10-01', time: '10:00' }), stylist);
      await expect(skinTests.read(old.id, { result: 'clear' }, stylist)).rejects.toMatchObject({
        code: 'SKIN_TEST.LAPSED',
      });
      await expect(
        skinTests.read(old.id, { result: 'reacted', seen: 'x', date: '2025-09-30', time: '10:00' }, stylist),
      ).rejects.toMatchObject({ code: 'SKIN_TEST.MOMENT', fields: [{ field: 'date' }] });
    });

    it('is refused against an older version', async () => {
      const test = await skinTests.record(input(), stylist);
      store.clock.at = START + H48;
      await skinTests.read(test.id, { result: 'clear', expectedVersion: 1 }, stylist);
      await expect(
        skinTests.read(test.id, { result: 'reacted', seen: 'red', expectedVersion: 1 }, stylist),
      ).rejects.toMatchObject({ code: 'SKIN_TEST.STALE' });
    });
  });

  describe('the colour gate', () => {
    it('lets a booking through on a clear test of the line, with the cautions', async () => {
      await clearRead();
      const permission = await check(START + 7 * H48, LINE);
      expect(permission).toMatchObject({ allowed: true, productLines: [LINE] });
      expect(permission.cautions).toEqual(expect.arrayContaining([...CAUTIONS]));
    });

    it('refuses with reason, first date and cautions', async () => {
      await expect(check(START + H48, LINE)).rejects.toMatchObject({
        kind: 'refused',
        code: 'SKIN_TEST.NO_TEST',
        message: expect.stringContaining('3 June 2026, 10:00'),
        details: { firstDate: '2026-06-03', firstAt: START + H48, cautions: CAUTIONS },
      });
    });

    it('asks a visit for its product line, naming the field', async () => {
      await clearRead();
      await expect(check(store.clock.at)).rejects.toMatchObject({
        code: 'SKIN_TEST.PRODUCT_LINE_UNKNOWN',
        fields: [{ field: 'productLine' }],
      });
    });

    it("goes by the salon's validity", async () => {
      await clearRead();
      // 180 days from 1 June: through 28 November 2026.
      await check(Date.parse('2026-11-28T23:59Z'), LINE);
      await expect(check(Date.parse('2026-11-29T00:00Z'), LINE)).rejects.toMatchObject({
        code: 'SKIN_TEST.LAPSES_BEFORE',
      });
    });

    it('sees what the same transaction has written', async () => {
      const test = await clearRead();
      await store.units.run(async (manager) => {
        await manager.update(SkinTest, { id: test.id }, { result: 'reacted' });
        await expect(
          gate.check(manager, {
            clientId: client.id,
            salonId: here.salon.id,
            at: START + 7 * H48,
            now: store.clock.at,
            productLine: LINE,
          }),
        ).rejects.toMatchObject({ code: 'SKIN_TEST.REACTION' });
      });
    });

    it('knows no client of another salon', async () => {
      const elsewhere = await makeSalon(store);
      client = await makeClient(store, elsewhere.salon.id);
      await expect(check(START, LINE)).rejects.toMatchObject({ code: 'CLIENT.NOT_FOUND' });
    });
  });

  describe('safety notes and medical clearance', () => {
    const DOCUMENT = {
      documentedOn: '2026-06-04',
      issuedBy: 'Dr Amaryllis Venn, Oxmarsh',
      says: 'May be tested again with lines without the named dye.',
    };
    const reacted = async () => {
      const test = await skinTests.record(input(), stylist);
      store.clock.at = START + H48;
      await skinTests.read(test.id, { result: 'reacted', seen: 'blisters' }, stylist);
      store.clock.at += 2 * H48;
    };

    it('let nobody but the owner clear, and then ask for a new test', async () => {
      await reacted();
      for (const role of ['stylist', 'desk', 'system', 'client'] as const) {
        await expect(records.clear(client.id, DOCUMENT, { accountId: null, role })).rejects.toMatchObject({
          kind: 'forbidden',
          code: 'SKIN_TEST.OWNER_ONLY',
        });
      }
      expect(await store.reader.manager.countBy(MedicalClearance, { clientId: client.id })).toBe(0);
      await expect(check(store.clock.at + H48, LINE)).rejects.toMatchObject({ code: 'SKIN_TEST.REACTION' });

      await records.clear(client.id, DOCUMENT, owner);
      await expect(check(store.clock.at + H48, LINE)).rejects.toMatchObject({ code: 'SKIN_TEST.NO_TEST' });
      store.clock.at += MINUTE;
      const test = await skinTests.record(input(), stylist);
      store.clock.at += H48;
      await skinTests.read(test.id, { result: 'clear' }, stylist);
      const { cautions } = await check(store.clock.at, LINE);
      expect(cautions.join(' ')).toContain('keep within what it says');

      const standing = await skinTests.standing(client.id);
      expect(standing).toMatchObject({ bar: null, clearances: [DOCUMENT], cautions: CAUTIONS });
      expect(standing.tests.map(({ state }) => state)).toEqual(['clear', 'reacted']);
    });

    it.each([
      ['a document to come', { documentedOn: '2027-01-01' }, 'documentedOn'],
      ['a document older than the reaction', { documentedOn: '2026-06-02' }, 'documentedOn'],
      ['no document date', { documentedOn: '' }, 'documentedOn'],
      ['nobody who issued it', { issuedBy: '' }, 'issuedBy'],
      ['no words', { says: '' }, 'says'],
    ])('refuse %s', async (_name, changes, field) => {
      await reacted();
      await expect(records.clear(client.id, { ...DOCUMENT, ...changes }, owner)).rejects.toMatchObject({
        kind: 'invalid',
        fields: [{ field }],
      });
      expect(await store.reader.manager.countBy(MedicalClearance, { clientId: client.id })).toBe(0);
    });

    it('have nothing to clear without a reaction', async () => {
      store.clock.at += 2 * H48;
      await expect(records.clear(client.id, DOCUMENT, owner)).rejects.toMatchObject({
        code: 'SKIN_TEST.NOTHING_TO_CLEAR',
      });
    });

    it('bar by an irritated scalp until it has settled', async () => {
      await clearRead();
      await records.note(client.id, { kind: 'irritated-scalp', told: 'red patch at the crown' }, stylist);
      await expect(check(store.clock.at, LINE)).rejects.toMatchObject({ code: 'SKIN_TEST.IRRITATED_SCALP' });
      expect((await skinTests.standing(client.id)).bar).toMatchObject({ reason: 'IRRITATED_SCALP' });

      await records.scalpSettled(client.id, stylist);
      expect(await check(store.clock.at, LINE)).toMatchObject({ allowed: true });
      await expect(records.scalpSettled(client.id, stylist)).rejects.toMatchObject({
        code: 'SKIN_TEST.SCALP_NOT_NOTED',
      });
      expect(await store.reader.manager.countBy(SafetyNote, { clientId: client.id })).toBe(1);
    });

    it('bar by a black-henna reaction, which settling the scalp does not lift', async () => {
      await clearRead();
      await records.note(client.id, { kind: 'black-henna-reaction', told: 'blisters, on holiday' }, stylist);
      await expect(records.scalpSettled(client.id, stylist)).rejects.toMatchObject({ kind: 'conflict' });
      await expect(check(store.clock.at, LINE)).rejects.toMatchObject({
        code: 'SKIN_TEST.BLACK_HENNA_REACTION',
      });
    });

    it.each([
      ['an unknown kind', { kind: 'freckles', told: 'x' }, 'kind'],
      ['no words', { kind: 'irritated-scalp', told: ' ' }, 'told'],
    ])('refuse %s', async (_name, note, field) => {
      await expect(records.note(client.id, note, stylist)).rejects.toMatchObject({ fields: [{ field }] });
      expect(await store.reader.manager.countBy(SafetyNote, { clientId: client.id })).toBe(0);
    });

    it('show what was seen, told and documented only to those with the right, and audit each look', async () => {
      await reacted();
      await records.note(client.id, { kind: 'irritated-scalp', told: 'weeping patch' }, stylist);
      await records.clear(client.id, DOCUMENT, owner);
      const looks = () =>
        store.reader.manager.countBy(AuditEntry, { subjectId: client.id, action: 'skin-test.look' });
      const seen = await skinTests.standingFor(client.id, stylist);
      expect(seen.tests[0]?.seen).not.toBe('');
      expect(seen.notes[0]?.told).toBe('weeping patch');
      expect(seen.clearances[0]?.says).toBe(DOCUMENT.says);
      expect(await looks()).toBe(1);
      const narrow: Actor = { ...stylist, scopes: ['skin-test.read'] };
      for (const actor of [{ accountId: null, role: 'desk' } as const, narrow]) {
        const bare = await skinTests.standingFor(client.id, actor);
        expect(bare).toMatchObject({
          tests: [{ seen: '', state: 'reacted' }],
          notes: [{ told: '', kind: 'irritated-scalp' }],
          clearances: [{ says: '', issuedBy: DOCUMENT.issuedBy }],
          bar: { reason: 'IRRITATED_SCALP' },
        });
      }
      expect(await looks()).toBe(1);
    });

    it('leave no health words on the audit trail', async () => {
      await reacted();
      await records.note(client.id, { kind: 'irritated-scalp', told: 'weeping patch' }, stylist);
      await records.clear(client.id, DOCUMENT, owner);
      const trail = await store.reader.manager.findBy(AuditEntry, { subjectId: client.id });
      expect(trail.map(({ action }) => action)).toEqual(
        expect.arrayContaining(['skin-test.record', 'skin-test.read', 'skin-test.note', 'skin-test.clear']),
      );
      expect(JSON.stringify(trail)).not.toMatch(/blisters|weeping|reacted|named dye/);
    });
  });
});
