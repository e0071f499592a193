import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Consultation, ConsultationHealth, type Consultations } from '../../src/consultations/index.js';
import { Formulas } from '../../src/cuts/index.js';
import { type Actor, AuditEntry } from '../../src/identity/index.js';
import { ColourGate, SafetyNote, SafetyRecords, SkinTest } from '../../src/skin-tests/index.js';
import { newId } from '../../src/store/index.js';
import { makeClient } from '../factories/clients.js';
import { CALM_HEALTH, consultationsOf, TALK } from '../factories/consultations.js';
import { CROP } from '../factories/cuts.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../factories/salon.js';

const NOBODY = '01890000-0000-7000-8000-000000000000';
const LINE = 'Umberline Cream 10';

describe('consultations', () => {
  let store: TestStore;
  let salon: TestSalon;
  let clientId: string;
  let consultations: Consultations;
  const stylist: Actor = { accountId: null, role: 'stylist' };
  const desk: Actor = { accountId: null, role: 'desk' };

  beforeEach(async () => {
    store = await openTestStore('2026-06-01T10:00:00Z');
    salon = await makeSalon(store);
    clientId = (await makeClient(store, salon.salon.id)).id;
    consultations = consultationsOf(store);
  });
  afterEach(() => store.close());

  const record = (changes: object = {}, actor = stylist) =>
    consultations.record({ clientId, staffId: salon.mara.id, ...TALK, ...changes }, actor);
  const trail = async () =>
    (await store.reader.manager.find(AuditEntry, { where: { subjectId: clientId } })).map(
      ({ action }) => action,
    );
  const houseFormula = (owner: string | null) =>
    store.units.run((manager) =>
      new Formulas().write(
        manager,
        { salonId: salon.salon.id, clientId: owner, basedOnId: null, cutOn: owner ? '2026-05-01' : null },
        CROP,
        CROP.lengths.map(({ zone, leftMm }) => ({
          zone,
          leftMm,
          leftSdMm: 3,
          leftOn: '2026-05-01',
          wantedMm: leftMm,
        })),
      ),
    );
  const askGate = () =>
    store.units.run((manager) =>
      new ColourGate().check(manager, {
        clientId,
        salonId: salon.salon.id,
        at: store.clock.at,
        now: store.clock.at,
        productLine: LINE,
      }),
    );
  const clearTest = () =>
    store.units.run((manager) =>
      manager.insert(SkinTest, {
        id: newId(),
        version: 1,
        clientId,
        productLine: LINE,
        place: 'inner elbow',
        appliedAt: Date.parse('2026-05-29T09:00Z'),
        readAt: Date.parse('2026-05-31T10:00Z'),
        readingRecordedAt: Date.parse('2026-05-31T10:00Z'),
        result: 'clear',
      }),
    );

  it('keeps every answer as it was given', async () => {
    const wantedFormulaId = await houseFormula(null);
    const { consultation } = await record({
      wantedFormulaId,
      consents: [
        { to: 'photographs', given: true, on: '2026-05-30', how: 'signed' },
        { to: 'health-notes', given: false, how: 'spoken' },
      ],
    });
    const stored = await consultations.get(consultation.id);
    expect(stored).toMatchObject({
      ...TALK,
      clientId,
      staffId: salon.mara.id,
      wantedFormulaId,
      heldOn: '2026-06-01',
      consents: [
        { to: 'photographs', given: true, on: '2026-05-30', how: 'signed' },
        { to: 'health-notes', given: false, on: '2026-06-01', how: 'spoken' },
      ],
    });
  });

  it('reads earlier ones, newest first, and the newest answer to each matter of consent', async () => {
    const consent = (given: boolean) => [{ to: 'photographs', given, how: 'spoken' }];
    await record({ heldOn: '2026-03-02', wantedShape: 'long', consents: consent(true) });
    await record({ heldOn: '2025-11-20', wantedShape: 'longest', consents: consent(true) });
    await record({ heldOn: '2026-05-01', wantedShape: 'short', consents: consent(false) });
    expect((await consultations.ofClient(clientId)).map(({ wantedShape }) => wantedShape)).toEqual([
      'short',
      'long',
      'longest',
    ]);
    expect(await consultations.consents(clientId)).toEqual([
      { to: 'photographs', given: false, on: '2026-05-01', how: 'spoken' },
    ]);
  });

  it('shows the health part only to those with the right to it, and every look is on the trail', async () => {
    const { consultation } = await record({ health: CALM_HEALTH });
    await expect(consultations.health(consultation.id, desk)).rejects.toMatchObject({
      kind: 'forbidden',
      code: 'CONSULTATION.HEALTH_FORBIDDEN',
    });
    expect(await trail()).not.toContain('consultation.health.look');
    for (let look = 1; look <= 2; look += 1) {
      expect(await consultations.health(consultation.id, stylist)).toEqual(CALM_HEALTH);
      expect((await trail()).filter((action) => action === 'consultation.health.look')).toHaveLength(look);
    }
    const listed = JSON.stringify(await consultations.ofClient(clientId));
    expect(listed).not.toMatch(/Latex|behind the ears/);
  });

  it('writes no word of health into the trail or, readably, into the database', async () => {
    await record({ health: CALM_HEALTH });
    const entries = JSON.stringify(await store.reader.manager.find(AuditEntry));
    const stored = JSON.stringify(
      await store.reader.manager.query('SELECT * FROM consultation, consultation_health'),
    );
    for (const text of [entries, stored]) expect(text).not.toMatch(/Latex|behind the ears|allergy/);
  });

  // Regulation (EC) 1223/2009, Annex III, label of oxidative dyes: not with a rash on the face nor on a sensitive,
  // irritated or damaged scalp, nor after a reaction to colouring or to black henna.
  it.each([
    ['rash', { scalp: ['rash'] }, 'IRRITATED_SCALP'],
    ['sensitive scalp', { scalp: ['dry', 'sensitive'] }, 'IRRITATED_SCALP'],
    ['irritated scalp', { scalp: ['irritated'], scalpWords: 'Red over the left ear' }, 'IRRITATED_SCALP'],
    ['damaged scalp', { scalp: ['damaged'] }, 'IRRITATED_SCALP'],
    [
      'reaction to colour',
      { contraindications: [{ kind: 'colour-reaction', told: 'Swollen lids, 2019' }] },
      'REACTION',
    ],
    [
      'reaction to black henna',
      { contraindications: [{ kind: 'black-henna-reaction', told: 'Blisters on holiday, 2021' }] },
      'BLACK_HENNA_REACTION',
    ],
  ])('%s closes the colour gate from then on, in the same transaction', async (_, health, reason) => {
    await clearTest();
    await expect(askGate()).resolves.toMatchObject({ allowed: true });
    const recorded = await record({ health });
    expect(recorded.safetyNotesRaised).toBe(1);
    expect(recorded.cautions.length).toBeGreaterThan(1);
    await expect(askGate()).rejects.toMatchObject({ kind: 'refused', code: `SKIN_TEST.${reason}` });
    expect(await trail()).toContain('skin-test.note');
  });

  it('a calm scalp closes nothing, and settles no earlier note by itself', async () => {
    await clearTest();
    await record({ health: CALM_HEALTH });
    await expect(askGate()).resolves.toMatchObject({ allowed: true });
    await record({ health: { scalp: ['irritated'] } });
    await record({ health: CALM_HEALTH });
    await expect(askGate()).rejects.toMatchObject({ code: 'SKIN_TEST.IRRITATED_SCALP' });
    await new SafetyRecords(store.units, store.clock, store.audit).scalpSettled(clientId, stylist);
    await expect(askGate()).resolves.toMatchObject({ allowed: true });
  });

  it('takes a form’s blanks for nothing and its numbers for numbers', async () => {
    const { consultation } = await record({
      dailyEffortMinutes: '12',
      density: '',
      wantedFormulaId: '',
      heldOn: '',
      hairNotes: '   ',
    });
    expect(consultation).toMatchObject({ dailyEffortMinutes: 12, density: null, heldOn: '2026-06-01' });
    expect(consultation).toMatchObject({ wantedFormulaId: null, hairNotes: '' });
  });

  const nothingStored = async () => {
    const { manager } = store.reader;
    expect(await manager.count(Consultation)).toBe(0);
    expect(await manager.count(ConsultationHealth)).toBe(0);
    expect(await manager.count(SafetyNote)).toBe(0);
  };
  const irritated = { scalp: ['irritated'] };
  it.each([
    ['a density of its own', { density: 'thick' }, 'density'],
    ['a texture of its own', { texture: 'silky' }, 'texture'],
    ['a wave of its own', { wave: 4 }, 'wave'],
    ['an unknown growth pattern', { growthPatterns: ['whorl-left', 'tail'] }, 'growthPatterns'],
    ['a growth pattern twice', { growthPatterns: ['whorl-left', 'whorl-left'] }, 'growthPatterns'],
    ['growth patterns that are no list', { growthPatterns: 'whorl-left' }, 'growthPatterns'],
    ['negative minutes', { dailyEffortMinutes: -1 }, 'dailyEffortMinutes'],
    ['minutes of a whole day', { dailyEffortMinutes: 1440 }, 'dailyEffortMinutes'],
    ['half a minute', { dailyEffortMinutes: 0.5 }, 'dailyEffortMinutes'],
    ['minutes in words', { dailyEffortMinutes: 'five' }, 'dailyEffortMinutes'],
    ['words beyond 4,000 characters', { why: 'x'.repeat(4001) }, 'why'],
    ['an object for words', { why: { toString: 'x' } }, 'why'],
    ['a date that is none', { heldOn: '2026-02-30', health: irritated }, 'heldOn'],
    ['a day to come', { heldOn: '2026-06-02', health: irritated }, 'heldOn'],
    ['a day of long ago', { heldOn: '1066-10-14' }, 'heldOn'],
    ['an unknown observation', { health: { scalp: ['psoriasis'] } }, 'health.scalp'],
    ['health that is text', { health: 'itches' }, 'health'],
    [
      'a contraindication without words',
      { health: { contraindications: [{ kind: 'allergy', told: ' ' }] } },
      'health.contraindications.0.told',
    ],
    [
      'an unknown contraindication',
      { health: { contraindications: [{ kind: 'mood', told: 'low' }] } },
      'health.contraindications.0.kind',
    ],
    [
      'nothing for a contraindication',
      { health: { contraindications: [null] } },
      'health.contraindications.0',
    ],
    [
      'consent to an unknown matter',
      { consents: [{ to: 'all', given: true, how: 'spoken' }] },
      'consents.0.to',
    ],
    ['consent without an answer', { consents: [{ to: 'cut', how: 'spoken' }] }, 'consents.0.given'],
    ['consent nobody knows how', { consents: [{ to: 'cut', given: true }] }, 'consents.0.how'],
    [
      'consent of a day to come',
      {
        consents: [{ to: 'cut', given: true, how: 'spoken', on: '2026-06-02' }],
        health: irritated,
      },
      'consents.0.on',
    ],
    [
      'two answers to one matter',
      { consents: [1, 2].map((n) => ({ to: 'cut', given: n === 1, how: 'spoken' })) },
      'consents',
    ],
    ['a list of nothing for consents', { consents: [null] }, 'consents.0'],
    ['a field nobody knows', { mood: 'low' }, 'mood'],
    ['a stylist nobody knows', { staffId: NOBODY, health: irritated }, 'staffId'],
    ['a visit nobody knows', { visitId: NOBODY, health: irritated }, 'visitId'],
    ['a formula nobody knows', { wantedFormulaId: NOBODY, health: irritated }, 'wantedFormulaId'],
  ])('refuses %s, names the field and stores nothing', async (_, changes, field) => {
    await expect(record(changes)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [expect.objectContaining({ field, message: expect.stringMatching(/\w+ \w+/) })],
    });
    await nothingStored();
  });

  it('refuses another client’s formula for a house formula, an empty form, and an unknown client', async () => {
    const theirs = await houseFormula((await makeClient(store, salon.salon.id)).id);
    await expect(record({ wantedFormulaId: theirs })).rejects.toMatchObject({
      code: 'CONSULTATION.NO_FORMULA',
    });
    await expect(
      consultations.record({ clientId, staffId: salon.mara.id, why: ' ', health: { scalp: [] } }, stylist),
    ).rejects.toMatchObject({ code: 'CONSULTATION.EMPTY' });
    await expect(record({ clientId: NOBODY })).rejects.toMatchObject({ code: 'CLIENT.NOT_FOUND' });
    await nothingStored();
  });

  it('takes no health words from somebody without the right to them', async () => {
    await expect(record({ health: irritated }, desk)).rejects.toMatchObject({
      code: 'CONSULTATION.HEALTH_FORBIDDEN',
      fields: [{ field: 'health' }],
    });
    await nothingStored();
  });

  it('goes with the client', async () => {
    await record({ health: CALM_HEALTH });
    await store.units.run((manager) => manager.delete('client', { id: clientId }));
    await nothingStored();
  });
});
