import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { dateIn, validated } from '../../src/base/index.js';
import {
  Formulas,
  GrowthAdjustedFormulas,
  GrowthProfiles,
  Measurement,
  type Visit,
  VisitInput,
  Visits,
} from '../../src/cuts/index.js';
import { SYSTEM } from '../../src/identity/index.js';
import { Windows } from '../../src/rebooking/index.js';
import { ColourGate } from '../../src/skin-tests/index.js';
import { makeClient } from '../factories/clients.js';
import { CROP, CROP_TIDIED } from '../factories/cuts.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../factories/salon.js';

const DAY_MS = 86_400_000;

describe('visits and the growth-adjusted formula', () => {
  let store: TestStore;
  let salon: TestSalon;
  let clientId: string;
  let formulas: Formulas;
  let profiles: GrowthProfiles;
  let adjusted: GrowthAdjustedFormulas;
  let visits: Visits;
  let windows: Windows;

  beforeEach(async () => {
    store = await openTestStore('2026-06-01T10:00:00Z');
    salon = await makeSalon(store);
    clientId = (await makeClient(store, salon.salon.id)).id;
    formulas = new Formulas();
    profiles = new GrowthProfiles();
    adjusted = new GrowthAdjustedFormulas(formulas, profiles);
    visits = new Visits(store.clock, store.audit, formulas, profiles, new ColourGate());
    windows = new Windows(store.clock, formulas, profiles);
  });
  afterEach(() => store.close());

  const close = async (input: object): Promise<Visit> => {
    const given = { clientId, staffId: salon.mara.id, serviceId: salon.fullCut.id, ...input };
    const visit = await validated(VisitInput, given);
    return await store.units.run(async (manager) => {
      const closed = await visits.close(manager, visit, SYSTEM);
      await windows.refresh(manager, clientId);
      return closed;
    });
  };
  const daysLater = (days: number) => {
    store.clock.at += days * DAY_MS;
    return dateIn('Europe/London', store.clock.at);
  };
  const on = (date: string) => adjusted.of(store.reader.manager, clientId, date);

  it('grows the nape of 6 mm to twice its length in 17 days', async () => {
    await close({ formula: CROP });
    const now = await on(daysLater(17));
    const nape = now?.zones.find(({ zone }) => zone === 'nape');
    // 0.35 mm a day, the mean of the published adult rates (Loussouarn et al. 2005): 17 days add 5.95 mm.
    expect(nape?.now.meanMm).toBeCloseTo(11.95, 6);
    expect(nape?.takeOff.meanMm).toBeCloseTo(5.95, 6);
    expect(nape?.now.lowMm).toBeLessThan(11.95);
    expect(nape?.steps.map((step) => step.tool)).toEqual(['guard 2']);
  });

  it('lists the zones in cutting order', async () => {
    await close({ formula: CROP });
    expect((await on('2026-06-01'))?.zones.map(({ zone }) => zone)).toEqual([
      'nape',
      'back',
      'top',
      'fringe',
    ]);
  });

  it('keeps every field of a formula as it was recorded', async () => {
    const visit = await close({ formula: CROP });
    const whole = await formulas.read(store.reader.manager, visit.formulaId as string);
    expect(whole.steps).toMatchObject(CROP.steps);
    expect(whole.links).toMatchObject(CROP.links as object[]);
    expect(whole.limits).toMatchObject(CROP.limits as object[]);
    expect(whole.formula).toMatchObject({ name: CROP.name, cutOn: '2026-06-01', clientId });
  });

  it('learns from what is measured on arrival', async () => {
    await close({ formula: CROP });
    daysLater(35);
    // 0.45 mm a day over 35 days: a fast grower.
    await close({ formula: CROP, measurements: [{ zone: 'nape', lengthMm: 21.75, tool: 'ruler' }] });
    const later = await on(daysLater(10));
    const rate = later?.zones.find(({ zone }) => zone === 'nape')?.rate.meanMmPerDay ?? 0;
    expect(rate).toBeGreaterThan(0.36);
    expect(rate).toBeLessThan(0.45);
    const [measured] = await visits.measurements(store.reader.manager, clientId);
    expect(measured).toMatchObject({ zone: 'nape', lengthMm: 21.75, sdMm: 3, measuredOn: '2026-07-06' });
    expect(measured?.verdict).toContain('Learned');
  });

  it('leaves the zones that a tidy does not touch growing from their own cut', async () => {
    await close({ formula: CROP });
    daysLater(21);
    await close({ serviceId: salon.tidy.id, formula: CROP_TIDIED });
    const now = await on(daysLater(14));
    const lengths = Object.fromEntries((now?.zones ?? []).map(({ zone, days }) => [zone, days]));
    expect(lengths).toEqual({ nape: 14, back: 35, top: 35, fringe: 35 });
  });

  it('starts an untouched zone anew when it was cut without a record', async () => {
    await close({ formula: CROP });
    daysLater(28);
    await close({
      serviceId: salon.tidy.id,
      formula: CROP_TIDIED,
      measurements: [{ zone: 'fringe', lengthMm: 55, tool: 'ruler' }],
    });
    const fringe = (await on(daysLater(0)))?.zones.find(({ zone }) => zone === 'fringe');
    expect(fringe?.left).toMatchObject({ leftMm: 55, leftOn: '2026-06-29' });
    const [measured] = await store.reader.manager.find(Measurement);
    expect(measured?.verdict).toContain('not recorded');
  });

  it('renews the window with every visit, and a tidy only moves what it tidied', async () => {
    await close({ formula: CROP });
    const first = await windows.of(store.reader.manager, clientId);
    expect(first?.firstZone).toBe('nape');
    // 6 mm at 0.35 mm a day is 17 days.
    expect(first?.dueOn).toBe('2026-06-18');
    daysLater(17);
    await close({ serviceId: salon.tidy.id, formula: CROP_TIDIED });
    const second = await windows.of(store.reader.manager, clientId);
    expect(second?.formulaId).not.toBe(first?.formulaId);
    expect(second?.dueOn).toBe('2026-07-05');
    const stored = await windows.compute(store.reader.manager, clientId);
    expect(second).toMatchObject({ dueOn: stored?.dueOn, latestOn: stored?.latestOn });
  });

  it.each([
    [
      'a negative length',
      { formula: { ...CROP, lengths: [{ zone: 'nape', leftMm: -1 }] } },
      'formula.lengths.0.leftMm',
    ],
    [
      'more than 2 m',
      { formula: { ...CROP, lengths: [{ zone: 'nape', leftMm: 2001 }] } },
      'formula.lengths.0.leftMm',
    ],
    [
      'NaN',
      { measurements: [{ zone: 'nape', lengthMm: Number.NaN, tool: 'hand' }] },
      'measurements.0.lengthMm',
    ],
    ['text', { measurements: [{ zone: 'nape', lengthMm: '12', tool: 'hand' }] }, 'measurements.0.lengthMm'],
    [
      'an unknown zone',
      { formula: { ...CROP, lengths: [{ zone: 'tail', leftMm: 1 }] } },
      'formula.lengths.0.zone',
    ],
    ['a visit in the future', { visitOn: '2026-06-02', formula: CROP }, 'visitOn'],
    ['a date that is none', { visitOn: '2026-02-30', formula: CROP }, 'visitOn'],
    ['a zone twice', { measurements: [1, 2].map((lengthMm) => ({ zone: 'top', lengthMm })) }, 'measurements'],
    [
      'a contrast without its other zone',
      { formula: { ...CROP, limits: [{ kind: 'contrast', zone: 'nape', value: 2 }] } },
      'limits.0',
    ],
    ['somebody else’s service', { serviceId: '0190a0a0-0000-7000-8000-000000000000' }, 'serviceId'],
  ])('refuses %s, names the field and stores nothing', async (_, input, field) => {
    await expect(close(input)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [expect.objectContaining({ field })],
    });
    expect(await visits.ofClient(store.reader.manager, clientId)).toEqual([]);
    expect(await formulas.ofClient(store.reader.manager, clientId)).toEqual([]);
    expect(await store.reader.manager.count(Measurement)).toBe(0);
  });
});
