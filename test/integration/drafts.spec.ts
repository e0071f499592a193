import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { validated } from '../../src/base/index.js';
import { Drafts, Formulas, GrowthProfiles, VisitDraft, VisitInput, Visits } from '../../src/cuts/index.js';
import { Account, type Actor, AuditEntry } from '../../src/identity/index.js';
import { ColourGate } from '../../src/skin-tests/index.js';
import { newId } from '../../src/store/index.js';
import { makeClient } from '../factories/clients.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../factories/salon.js';

const NOBODY = '01890000-0000-7000-8000-000000000000';
const APPOINTMENT = '01890000-0000-7000-8000-0000000000a1';

describe('drafts of visits', () => {
  let store: TestStore;
  let salon: TestSalon;
  let clientId: string;
  let drafts: Drafts;
  let mara: Actor;
  let ilan: Actor;

  beforeEach(async () => {
    store = await openTestStore('2026-06-01T10:00:00Z');
    salon = await makeSalon(store);
    clientId = (await makeClient(store, salon.salon.id)).id;
    drafts = new Drafts(store.units, store.reader, store.clock, store.audit);
    [mara, ilan] = (await Promise.all(['Mara Quillfeather', 'Ilan Drosser'].map(account))) as [Actor, Actor];
  });
  afterEach(() => store.close());

  const account = async (name: string): Promise<Actor> => {
    const row = {
      id: newId(),
      version: 1,
      name,
      role: 'stylist' as const,
      passwordHash: 'none',
      active: true,
    };
    const email = `${name.split(' ')[0]?.toLowerCase()}@example.org`;
    await store.units.run((manager) => manager.insert(Account, { ...row, email }));
    return { accountId: row.id, role: 'stylist' };
  };
  const key = () => ({ clientId, appointmentId: APPOINTMENT });
  const walkIn = () => ({ clientId, staffId: salon.mara.id });
  const rows = () => store.reader.manager.count(VisitDraft);

  it('gives back what was typed, word for word, to whoever opens it next', async () => {
    const body = {
      notes: 'Zoë, “grows up” at the nape\n2.5',
      formula: { lengths: [{ leftMm: 6 }] },
      empty: null,
    };
    const saved = await drafts.save(key(), body, null, mara);
    expect(saved).toEqual({
      version: 1,
      body,
      savedAt: store.clock.at,
      savedById: mara.accountId,
      savedBy: 'Mara Quillfeather',
    });
    expect(await drafts.get(key())).toEqual({ draft: saved, setAside: [] });
    const again = await drafts.save(key(), { ...body, notes: 'more' }, saved.version, mara);
    expect(again).toMatchObject({ version: 2, body: { notes: 'more' } });
  });

  it('keeps the draft unreadable in the database file', async () => {
    await drafts.save(key(), { notes: 'itching scalp' }, null, mara);
    const [stored] = await store.reader.manager.query('SELECT body FROM visit_draft');
    expect(stored.body).not.toContain('scalp');
  });

  it('tells the second of two stylists, shows both versions, and keeps both', async () => {
    const first = await drafts.save(key(), { notes: 'as found' }, null, mara);
    const hers = await drafts.save(key(), { notes: 'by Mara' }, first.version, mara);
    await expect(drafts.save(key(), { notes: 'by Ilan' }, first.version, ilan)).rejects.toMatchObject({
      kind: 'conflict',
      code: 'DRAFT.STALE',
      message: expect.stringContaining('Mara Quillfeather'),
      details: {
        theirs: { version: hers.version, body: { notes: 'by Mara' }, savedBy: 'Mara Quillfeather' },
        yours: { notes: 'by Ilan' },
      },
    });
    // Even if his tab closes now.
    expect(await drafts.get(key())).toMatchObject({
      draft: { body: { notes: 'by Mara' }, version: hers.version },
      setAside: [{ body: { notes: 'by Ilan' }, savedBy: 'Ilan Drosser' }],
    });

    await drafts.save(key(), { notes: 'by both' }, hers.version, ilan);
    expect(await drafts.get(key())).toMatchObject({ draft: { body: { notes: 'by both' } }, setAside: [] });
  });

  it('lets exactly one of twenty simultaneous first saves through and loses none of the others', async () => {
    const many = await Promise.all(Array.from({ length: 20 }, (_, i) => account(`S${i} Stylist`)));
    const outcomes = await Promise.allSettled(many.map((actor, i) => drafts.save(key(), { i }, null, actor)));
    expect(outcomes.filter(({ status }) => status === 'fulfilled')).toHaveLength(1);
    const { draft, setAside } = await drafts.get(key());
    const kept = [draft, ...setAside].map((version) => version?.body['i']);
    expect(kept.sort((a, b) => Number(a) - Number(b))).toEqual(Array.from({ length: 20 }, (_, i) => i));
  });

  it('takes the same save twice for one, as after a lost answer', async () => {
    const first = await drafts.save(key(), { notes: 'a' }, null, mara);
    expect(await drafts.save(key(), { notes: 'a' }, null, mara)).toEqual(first);
    const second = await drafts.save(key(), { notes: 'b' }, first.version, mara);
    expect(await drafts.save(key(), { notes: 'b' }, first.version, mara)).toEqual(second);
    expect(await rows()).toBe(1);
  });

  it('keeps walk-ins and appointments apart', async () => {
    await drafts.save(key(), { notes: 'booked' }, null, mara);
    await drafts.save(walkIn(), { notes: 'walked in' }, null, mara);
    expect(await drafts.get(walkIn())).toMatchObject({ draft: { body: { notes: 'walked in' } } });
    await drafts.drop(walkIn(), mara);
    expect((await drafts.get(walkIn())).draft).toBeNull();
    expect((await drafts.get(key())).draft).not.toBeNull();
  });

  it('is gone with the visit that it became, and a tab left open is told', async () => {
    const draft = await drafts.save(walkIn(), { notes: 'x' }, null, mara);
    const visits = new Visits(
      store.clock,
      store.audit,
      new Formulas(),
      new GrowthProfiles(),
      new ColourGate(),
    );
    const input = { ...walkIn(), serviceId: salon.fullCut.id };
    const visit = await validated(VisitInput, input);
    await store.units.run((manager) => visits.close(manager, visit, mara));
    expect(await drafts.get(walkIn())).toEqual({ draft: null, setAside: [] });
    await expect(drafts.save(walkIn(), { notes: 'y' }, draft.version, mara)).rejects.toMatchObject({
      code: 'DRAFT.STALE',
      details: { theirs: null, yours: { notes: 'y' } },
    });
    expect((await drafts.get(walkIn())).setAside).toMatchObject([{ body: { notes: 'y' } }]);
  });

  it('puts the first save and the dropping on the trail, not every keystroke', async () => {
    const one = await drafts.save(key(), { n: 1 }, null, mara);
    await drafts.save(key(), { n: 2 }, one.version, mara);
    await drafts.drop(key(), mara);
    await drafts.drop(key(), mara);
    const entries = await store.reader.manager.find(AuditEntry, { where: { subjectId: clientId } });
    expect(entries.map(({ action }) => action).filter((action) => action.startsWith('visit.'))).toEqual([
      'visit.draft',
      'visit.draft.drop',
    ]);
  });

  const deep = (): unknown => {
    let nest: Record<string, unknown> = {};
    for (let i = 0; i < 50_000; i += 1) nest = { nest };
    return nest;
  };
  it.each([
    ['a body that is text', () => [key(), 'notes', null], 'body'],
    ['no body', () => [key(), undefined, null], 'body'],
    ['a list', () => [key(), [1], null], 'body'],
    ['a body beyond 200 kB', () => [key(), { notes: 'é'.repeat(100_000) }, null], 'body'],
    ['a body nested 50,000 deep', () => [key(), deep(), null], 'body'],
    ['a version that is text', () => [key(), {}, 'two'], 'expectedVersion'],
    ['version 0', () => [key(), {}, 0], 'expectedVersion'],
    ['no client', () => [{ appointmentId: APPOINTMENT }, {}, null], 'clientId'],
    ['neither appointment nor stylist', () => [{ clientId }, {}, null], 'appointmentId'],
    ['both', () => [{ ...key(), staffId: salon.mara.id }, {}, null], 'appointmentId'],
    ['an id that is none', () => [{ clientId, appointmentId: '../1' }, {}, null], 'appointmentId'],
  ] as const)('refuses %s, names the field and stores nothing', async (_, given, field) => {
    const [draftKey, body, version] = given() as [unknown, unknown, number | null];
    await expect(drafts.save(draftKey, body, version, mara)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [expect.objectContaining({ field })],
    });
    expect(await rows()).toBe(0);
  });

  it('refuses a client who does not exist', async () => {
    await expect(drafts.save({ ...key(), clientId: NOBODY }, {}, null, mara)).rejects.toMatchObject({
      code: 'CLIENT.NOT_FOUND',
    });
    expect(await rows()).toBe(0);
  });
});
