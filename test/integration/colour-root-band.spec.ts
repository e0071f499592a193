import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays } from '../../src/base/index.js';
import { RootBandTolerance } from '../../src/colour/index.js';
import { Formulas, GrowthAdjustedFormulas, GrowthRecord } from '../../src/cuts/index.js';
import { growthPrior, initialProfile, observeGrowth } from '../../src/engine/growth/index.js';
import { ZONES } from '../../src/engine/zones.js';
import { AuditEntry } from '../../src/identity/index.js';
import { newId } from '../../src/store/index.js';
import { at, type ColourRoom, openColourRoom, stylist } from '../factories/colour.js';
import { CROP } from '../factories/cuts.js';

const NOBODY = '01890000-0000-7000-8000-000000000000';
const DAY = 86_400_000;

describe('the root band', () => {
  let store: ColourRoom['store'];
  let salon: ColourRoom['salon'];
  let clientId: ColourRoom['clientId'];
  let profiles: ColourRoom['profiles'];
  let bands: ColourRoom['bands'];
  let tested: ColourRoom['tested'];
  let close: ColourRoom['close'];
  let record: ColourRoom['record'];

  beforeEach(async () => {
    ({ store, salon, clientId, profiles, bands, tested, close, record } = await openColourRoom());
  });
  afterEach(() => store.close());

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
