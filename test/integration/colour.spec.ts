import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, validated } from '../../src/base/index.js';
import {
  ColourEffects,
  ColourFormula,
  ColourFormulas,
  ColourLine,
  percentOfVolumes,
  RootBands,
  RootBandTolerance,
  volumesOfPercent,
} from '../../src/colour/index.js';
import {
  Formulas,
  GrowthAdjustedFormulas,
  GrowthProfiles,
  GrowthRecord,
  Visit,
  VisitInput,
  Visits,
} from '../../src/cuts/index.js';
import { growthPrior, initialProfile, observeGrowth } from '../../src/engine/growth/index.js';
import { ZONES } from '../../src/engine/zones.js';
import { type Actor, AuditEntry } from '../../src/identity/index.js';
import { Service } from '../../src/salon/index.js';
import { ColourGate, SafetyNote, SkinTest } from '../../src/skin-tests/index.js';
import { newId } from '../../src/store/index.js';
import { makeClient } from '../factories/clients.js';
import { CROP } from '../factories/cuts.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../factories/salon.js';

const NOBODY = '01890000-0000-7000-8000-000000000000';
const LINE = 'Umberline Cream 10';
const OTHER = 'Umberline Oil 6';
const DAY = 86_400_000;
const at = (text: string) => Date.parse(text);
const stylist: Actor = { accountId: null, role: 'stylist' };

const BOWL = {
  name: 'Roots',
  zones: ['top', 'crown', 'fringe'],
  place: 'roots',
  lines: [
    { productLine: LINE, shade: '6/0', parts: 2 },
    { productLine: LINE, shade: '6/3', parts: 1 },
  ],
  developerVolumes: 20,
  developerParts: 3,
  minutes: 35,
  notes: 'Nape first',
};

describe('colour formulas', () => {
  let store: TestStore;
  let salon: TestSalon;
  let clientId: string;
  let colours: ColourFormulas;
  let bands: RootBands;
  let profiles: GrowthProfiles;

  beforeEach(async () => {
    store = await openTestStore('2026-06-01T10:00:00Z');
    salon = await makeSalon(store);
    clientId = (await makeClient(store, salon.salon.id)).id;
    const { units, reader, clock, audit } = store;
    profiles = new GrowthProfiles();
    colours = new ColourFormulas(units, reader, clock, audit, new ColourGate(), new ColourEffects());
    bands = new RootBands(units, reader, clock, audit, profiles);
  });
  afterEach(() => store.close());

  const tested = (productLine = LINE, changes: Partial<SkinTest> = {}) =>
    store.units.run((manager) =>
      manager.insert(SkinTest, {
        id: newId(),
        version: 1,
        clientId,
        productLine,
        place: 'inner elbow',
        appliedAt: at('2026-05-28T09:00Z'),
        readAt: at('2026-05-30T10:00Z'),
        readingRecordedAt: at('2026-05-30T10:00Z'),
        result: 'clear',
        ...changes,
      }),
    );
  const close = async (changes: object = {}, startedAt?: number): Promise<Visit> => {
    const { clock, audit, units } = store;
    const visits = new Visits(clock, audit, new Formulas(), profiles, new ColourGate());
    const parties = { clientId, staffId: salon.mara.id, serviceId: salon.colour.id, productLine: LINE };
    const input = await validated(VisitInput, { ...parties, ...changes });
    return await units.run((manager) => visits.close(manager, input, stylist, startedAt));
  };
  const record = (visit: { id: string }, changes: object = {}) =>
    colours.record(visit.id, { ...BOWL, ...changes }, stylist);
  const nothingRecorded = async () => {
    expect(await store.reader.manager.count(ColourFormula)).toBe(0);
    expect(await store.reader.manager.count(ColourLine)).toBe(0);
  };

  it('keeps every field, the lines in the order they were mixed', async () => {
    await tested();
    const visit = await close();
    store.clock.at += DAY;
    const { formula } = await record(visit);
    const [stored] = await colours.ofClient(clientId);
    const { developerVolumes, lines, ...rest } = BOWL;
    expect(stored).toMatchObject({
      formula: { ...rest, id: formula.id, visitId: visit.id, colouredOn: '2026-06-01', developerPercent: 6 },
      lines: lines.map((line, i) => ({ ...line, position: i + 1 })),
      developerVolumes: 20,
    });
    const entries = await store.reader.manager.find(AuditEntry, { where: { subjectId: clientId } });
    expect(entries.map(({ action }) => action)).toContain('colour.record');
  });

  it.each([
    // Commission Regulation (EU) 2019/831, Annex III entry 12: "12 % of H2O2 (40 volumes)".
    [40, 12],
    // Common practice, no source.
    [10, 3],
    [20, 6],
    [30, 9],
  ])('%i volumes are %i %%, both ways, and what the chemistry gives', (volumes, percent) => {
    expect(percentOfVolumes(volumes)).toBe(percent);
    expect(volumesOfPercent(percent)).toBe(volumes);
    // 2 H2O2 -> 2 H2O + O2: litres of oxygen at 0 °C and 1 atm from one litre of solution. Molar mass 34.0147 g/mol
    // (IUPAC atomic weights), molar volume 22.414 L/mol (CODATA). The trade rounds by little over one part in a hundred.
    const litres = ((percent * 10) / 34.0147 / 2) * 22.414;
    expect(Math.abs(litres / volumes - 1)).toBeLessThan(0.015);
  });

  it('takes the developer in percent as well, and none at all', async () => {
    await tested();
    const visit = await close();
    const plain = { developerVolumes: undefined, developerParts: undefined };
    const percent = await record(visit, { ...plain, developerPercent: 1.9, developerParts: '1.5' });
    expect(percent.formula).toMatchObject({ developerPercent: 1.9, developerParts: 1.5 });
    expect(percent.developerVolumes).toBeCloseTo(6.33, 2);
    expect(await record(visit, plain)).toMatchObject({
      formula: { developerPercent: null, developerParts: null },
      developerVolumes: null,
    });
  });

  describe('never around the gate', () => {
    it('not on a visit of another service, not even when that becomes a colour afterwards', async () => {
      await tested();
      const visit = await close({ serviceId: salon.fullCut.id });
      await expect(record(visit)).rejects.toMatchObject({ kind: 'refused', code: 'COLOUR.NO_GATE' });
      await store.units.run((manager) =>
        manager.update(Service, { id: salon.fullCut.id }, { kind: 'colour' }),
      );
      await expect(record(visit)).rejects.toMatchObject({ code: 'COLOUR.NO_GATE' });
      await nothingRecorded();
    });

    it('not without a visit: the visit itself is refused without a test', async () => {
      await expect(close()).rejects.toMatchObject({ code: 'SKIN_TEST.NO_TEST' });
      expect(await store.reader.manager.count(Visit)).toBe(0);
      await expect(record({ id: NOBODY })).rejects.toMatchObject({ code: 'VISIT.NOT_FOUND' });
      await nothingRecorded();
    });

    it('not with a line in the bowl that was not tested', async () => {
      await tested();
      const visit = await close();
      const lines = [BOWL.lines[0], { productLine: OTHER, shade: '5', parts: 1 }];
      await expect(record(visit, { lines })).rejects.toMatchObject({
        kind: 'refused',
        code: 'SKIN_TEST.OTHER_PRODUCT_LINE',
        fields: [{ field: 'lines.1.productLine' }],
        details: { cautions: expect.arrayContaining([expect.stringContaining('allergic')]) },
      });
      await nothingRecorded();
      await tested(OTHER);
      await expect(record(visit, { lines })).resolves.toMatchObject({ lines: { length: 2 } });
    });

    it('not with a line whose name only looks alike', async () => {
      await tested();
      const visit = await close();
      for (const productLine of ['Umberline Cream 10+', 'Umberline Cream', 'Umberlıne Cream 10']) {
        await expect(record(visit, { lines: [{ productLine, shade: '1', parts: 1 }] })).rejects.toMatchObject(
          {
            code: 'SKIN_TEST.OTHER_PRODUCT_LINE',
          },
        );
      }
      await nothingRecorded();
      const lines = [{ productLine: '  umberline  CREAM 10 ', shade: '1', parts: 1 }];
      await expect(record(visit, { lines })).resolves.toMatchObject({ lines: { length: 1 } });
    });

    it.each([
      [
        'applied or read only after the colour',
        { appliedAt: at('2026-06-01T11:00Z'), readAt: at('2026-06-03T11:01Z') },
      ],
      ['read only after the colour', { readAt: at('2026-06-02T10:00Z') }],
      [
        'that had not had its 48 hours at the colour',
        { appliedAt: at('2026-05-30T10:00:00.001Z'), readAt: at('2026-06-01T10:30Z') },
      ],
      [
        'that had lapsed at the colour',
        { appliedAt: at('2025-11-01T09:00Z'), readAt: at('2025-11-03T10:00Z') },
      ],
    ])('not with another line whose test is one %s', async (_, changes) => {
      await tested();
      const visit = await close();
      await tested(OTHER, { readingRecordedAt: changes.readAt, ...changes });
      store.clock.at = at('2026-06-10T10:00Z');
      const lines = [{ productLine: OTHER, shade: '5', parts: 1 }];
      await expect(record(visit, { lines })).rejects.toMatchObject({
        kind: 'refused',
        code: expect.stringMatching(/^SKIN_TEST\./),
      });
      await nothingRecorded();
    });

    it('not by dating the visit back to before the test', async () => {
      // Applied on 28 May, 09:00 UTC: the first colour that it lets through begins on 30 May at 09:00 UTC.
      await tested();
      await expect(close({ visitOn: '2026-05-29' })).rejects.toMatchObject({
        kind: 'refused',
        code: 'SKIN_TEST.TOO_SOON',
      });
      expect((await close({ visitOn: '2026-05-31' })).colourAt).toBe(at('2026-05-31T23:00Z') - 1);
    });

    it('not after a bar came up, except to write down what was put on: that line stays recordable', async () => {
      await tested();
      await tested(OTHER);
      const visit = await close();
      await store.units.run((manager) =>
        manager.insert(SafetyNote, {
          id: newId(),
          clientId,
          kind: 'colour-reaction',
          told: 'Itching on the way home',
          notedAt: store.clock.at + 1,
        }),
      );
      store.clock.at += DAY;
      const lines = [{ productLine: OTHER, shade: '5', parts: 1 }];
      await expect(record(visit, { lines })).rejects.toMatchObject({ code: 'SKIN_TEST.REACTION' });
      await expect(record(visit)).resolves.toMatchObject({ formula: { visitId: visit.id } });
      await expect(close()).rejects.toMatchObject({ code: 'SKIN_TEST.REACTION' });
    });
  });

  const line = BOWL.lines[0];
  it.each([
    ['no lines', { lines: [] }, 'lines'],
    ['lines that are no list', { lines: 'all' }, 'lines'],
    ['nothing for a line', { lines: [null] }, 'lines.0'],
    ['a line without its product', { lines: [{ ...line, productLine: ' ' }] }, 'lines.0.productLine'],
    ['a line without its shade', { lines: [{ ...line, shade: undefined }] }, 'lines.0.shade'],
    ['no parts', { lines: [{ ...line, parts: 0 }] }, 'lines.0.parts'],
    ['parts that are no number', { lines: [{ ...line, parts: Number.NaN }] }, 'lines.0.parts'],
    ['parts in words', { lines: [line, { ...line, parts: 'two' }] }, 'lines.1.parts'],
    ['13 lines', { lines: Array.from({ length: 13 }, () => line) }, 'lines'],
    ['a zone nobody has', { zones: ['tail'] }, 'zones'],
    ['no zones', { zones: [] }, 'zones'],
    ['a zone twice', { zones: ['top', 'top'] }, 'zones'],
    ['a place nobody knows', { place: 'ends' }, 'place'],
    ['more than 40 volumes', { developerVolumes: 41 }, 'developerVolumes'],
    ['more than 12 %', { developerVolumes: undefined, developerPercent: 12.1 }, 'developerPercent'],
    ['strength in percent and in volumes', { developerPercent: 6 }, 'developerVolumes'],
    ['a developer without parts', { developerParts: undefined }, 'developerParts'],
    ['parts of no developer', { developerVolumes: undefined }, 'developerPercent'],
    ['no time', { minutes: undefined }, 'minutes'],
    ['a negative time', { minutes: -5 }, 'minutes'],
    ['half a minute', { minutes: 12.5 }, 'minutes'],
    ['a whole day', { minutes: 1440 }, 'minutes'],
    ['no name', { name: '' }, 'name'],
    ['notes beyond 4,000 characters', { notes: 'x'.repeat(4001) }, 'notes'],
    ['a way past the gate', { colourAt: 0 }, 'colourAt'],
  ])('refuses %s, names the field and records nothing', async (_, changes, field) => {
    await tested();
    const visit = await close();
    await expect(record(visit, changes)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [expect.objectContaining({ field })],
    });
    await nothingRecorded();
  });

  describe('the root band', () => {
    const coloured = async (changes: object = {}, visitChanges: object = {}) =>
      await record(await close(visitChanges), changes);

    it('is the rate times the days, with the dates it passes what she bears', async () => {
      await tested();
      await coloured();
      expect(await bands.of(clientId)).toMatchObject({ band: { days: 0, meanMm: 0 }, passes: null });
      await bands.setTolerance(clientId, { toleranceMm: '14' }, stylist);
      store.clock.at += 20 * DAY;
      const band = await bands.of(clientId);
      // 0.35 mm a day, our summary of the published adult rates: 20 days 7 mm, 14 mm after 40.
      expect(band).toMatchObject({
        colouredOn: '2026-06-01',
        on: '2026-06-21',
        zone: 'top',
        toleranceMm: 14,
      });
      expect(band?.band).toMatchObject({ days: 20, meanMm: expect.closeTo(7, 9) });
      expect(band?.passes).toMatchObject({ dueDays: 40, dueOn: '2026-07-11', beyondHorizon: [] });
      // sd of a zone's rate: hypot(0.06, 0.08 x 0.35) = 0.0662; 90 % interval 1.645 sd either way.
      expect(band?.band.highMm).toBeCloseTo(7 + 1.6449 * 20 * Math.hypot(0.06, 0.028), 3);
      expect(band?.band.lowMm).toBeCloseTo(7 - 1.6449 * 20 * Math.hypot(0.06, 0.028), 3);
      // The normal quantile of 10 and 90 % is 1.2816: 14 / (0.35 ± 1.2816 x 0.0662).
      expect(band?.passes?.earliestDays).toBe(Math.round(14 / (0.35 + 1.2816 * Math.hypot(0.06, 0.028))));
      expect(band?.passes?.latestDays).toBe(Math.round(14 / (0.35 - 1.2816 * Math.hypot(0.06, 0.028))));
    });

    it('counts from the newest colour of the roots of the zone that is looked at', async () => {
      await tested();
      await coloured();
      store.clock.at += 10 * DAY;
      await coloured({ place: 'lengths', name: 'Gloss' });
      await coloured({ zones: ['nape'], name: 'Nape' });
      const of = async () => (await bands.of(clientId))?.colouredOn;
      expect(await of()).toBe('2026-06-01');
      await bands.setTolerance(clientId, { toleranceMm: 10, zone: 'nape' }, stylist);
      expect(await of()).toBe('2026-06-11');
      expect((await bands.of(clientId, '2026-06-05'))?.colouredOn).toBeUndefined();
      await bands.setTolerance(clientId, { toleranceMm: 10 }, stylist);
      await coloured({ place: 'roots-and-lengths' });
      expect(await of()).toBe('2026-06-11');
    });

    it('is nothing before the first colour', async () => {
      expect(await bands.of(clientId)).toBeUndefined();
      await expect(bands.of(NOBODY)).rejects.toMatchObject({ code: 'CLIENT.NOT_FOUND' });
    });

    it('is never a permission: a band beyond what she bears opens no gate', async () => {
      await tested();
      await coloured();
      await bands.setTolerance(clientId, { toleranceMm: 5 }, stylist);
      store.clock.at = at('2027-01-15T10:00Z');
      const band = await bands.of(clientId);
      expect(band?.band.lowMm).toBeGreaterThan(5);
      await expect(close()).rejects.toMatchObject({ code: 'SKIN_TEST.LAPSED' });
    });

    it('grows at the very rate of the cut, from the same posterior, whatever was measured', async () => {
      await tested();
      await close({ serviceId: salon.fullCut.id, formula: CROP });
      await coloured({ zones: [...ZONES] });
      await bands.setTolerance(clientId, { toleranceMm: 12 }, stylist);
      const adjusted = new GrowthAdjustedFormulas(new Formulas(), profiles);
      const left = new Map(CROP.lengths.map(({ zone, leftMm }) => [zone, leftMm]));
      await fc.assert(
        fc.asyncProperty(
          fc.array(
            fc.record({
              zone: fc.constantFrom('nape' as const, 'back' as const, 'top' as const, 'fringe' as const),
              rate: fc.double({ min: 0.15, max: 0.6, noNaN: true }),
            }),
            { maxLength: 4 },
          ),
          fc.integer({ min: 1, max: 120 }),
          async (measured, days) => {
            const on = addDays('2026-06-01', days);
            let profile = initialProfile(growthPrior());
            for (const { zone, rate } of measured) {
              const leftMm = left.get(zone) as number;
              const lesson = { zone, leftMm, leftSdMm: 1, days, on, measuredSdMm: 1 };
              profile = observeGrowth(profile, { ...lesson, measuredMm: leftMm + rate * days }).profile;
            }
            await store.units.run(async (manager) => {
              await manager.delete(GrowthRecord, { clientId });
              await manager.insert(GrowthRecord, { id: newId(), version: 1, clientId, profile });
            });
            const band = await bands.of(clientId, on);
            const cut = await adjusted.of(store.reader.manager, clientId, on);
            const top = cut?.zones.find(({ zone }) => zone === 'top');
            const grownMm = (top?.now.meanMm ?? Number.NaN) - (left.get('top') as number);
            expect(band?.band.meanMm).toBeCloseTo((band?.rateMmPerDay ?? Number.NaN) * days, 9);
            expect(band?.band.meanMm).toBeCloseTo(grownMm, 9);
            expect(band?.rateMmPerDay).toBeCloseTo(top?.rate.meanMmPerDay ?? Number.NaN, 12);
            // The median day is where the mean rate gets there, to the whole day.
            expect(band?.passes?.dueDays).toBe(Math.round(12 / (band?.rateMmPerDay ?? Number.NaN)));
          },
        ),
        { numRuns: 40, seed: 20_260_604 },
      );
    });

    it('keeps what she bears, tells the second of two editors, and writes it on the trail', async () => {
      const first = await bands.setTolerance(clientId, { toleranceMm: 10 }, stylist);
      await bands.setTolerance(clientId, { toleranceMm: 12, expectedVersion: first.version }, stylist);
      await expect(
        bands.setTolerance(clientId, { toleranceMm: 15, expectedVersion: 1 }, stylist),
      ).rejects.toMatchObject({ kind: 'conflict', code: 'COLOUR.STALE' });
      expect(await bands.tolerance(store.reader.manager, clientId)).toMatchObject({ toleranceMm: 12 });
      const entries = await store.reader.manager.find(AuditEntry, { where: { subjectId: clientId } });
      expect(entries.filter(({ action }) => action === 'colour.tolerance')).toHaveLength(2);
    });

    it.each([
      ['nothing', {}, 'toleranceMm'],
      ['a blank', { toleranceMm: '' }, 'toleranceMm'],
      ['zero', { toleranceMm: 0 }, 'toleranceMm'],
      ['a metre', { toleranceMm: 1000 }, 'toleranceMm'],
      ['no number', { toleranceMm: Number.NaN }, 'toleranceMm'],
      ['words', { toleranceMm: 'a little' }, 'toleranceMm'],
      ['a zone nobody has', { toleranceMm: 10, zone: 'beard' }, 'zone'],
      ['a version in words', { toleranceMm: 10, expectedVersion: 'new' }, 'expectedVersion'],
    ])('refuses %s for a tolerance and names the field', async (_, input, field) => {
      await expect(bands.setTolerance(clientId, input, stylist)).rejects.toMatchObject({
        kind: 'invalid',
        fields: [expect.objectContaining({ field })],
      });
      expect(await store.reader.manager.count(RootBandTolerance)).toBe(0);
    });
  });

  it('goes with the client', async () => {
    await tested();
    await record(await close());
    await store.units.run((manager) => manager.delete('client', { id: clientId }));
    await nothingRecorded();
  });
});
