import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { validated } from '../../src/base/index.js';
import {
  Drawings,
  type FormulaInput,
  Formulas,
  GrowthAdjustedFormulas,
  GrowthProfiles,
  VisitInput,
  Visits,
} from '../../src/cuts/index.js';
import { SYSTEM } from '../../src/identity/index.js';
import { Windows } from '../../src/rebooking/index.js';
import { ColourGate } from '../../src/skin-tests/index.js';
import { makeClient } from '../factories/clients.js';
import { CROP } from '../factories/cuts.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../factories/salon.js';

/** A fringe cut in natural fall to the brow; the rest short. */
const FRINGE_AT_BROW: FormulaInput = {
  name: 'Fringe at the brow',
  steps: [
    { zone: 'fringe', method: 'natural-fall', technique: 'club', geometry: { anchor: 'brow', belowMm: 0 } },
  ],
  lengths: [
    { zone: 'top', leftMm: 60 },
    { zone: 'back', leftMm: 30 },
  ],
  limits: [{ kind: 'landmark', zone: 'fringe', landmark: 'upper-lid', value: 0 }],
};

/** A back graduated at 75 degrees from 20 mm at the nape, as in the design's check values. */
const STACK: FormulaInput = {
  name: 'Stacked back',
  steps: [
    {
      zone: 'nape',
      method: 'travelling-guide',
      section: 'horizontal',
      elevationDeg: 75,
      guide: 'travelling',
      lengthAtGuideMm: 20,
      sectionDepthMm: 10,
      technique: 'club',
      geometry: { withZones: ['back'] },
    },
  ],
  lengths: [{ zone: 'top', leftMm: 70 }],
  limits: [{ kind: 'weight-line', zone: 'back', value: 14.7 }],
};

describe('limits and drawings read from the cut itself', () => {
  let store: TestStore;
  let salon: TestSalon;
  let clientId: string;
  let visits: Visits;
  let windows: Windows;
  let adjusted: GrowthAdjustedFormulas;
  const drawings = new Drawings();

  beforeEach(async () => {
    store = await openTestStore('2026-06-01T10:00:00Z');
    salon = await makeSalon(store);
    clientId = (await makeClient(store, salon.salon.id)).id;
    const formulas = new Formulas();
    const profiles = new GrowthProfiles();
    adjusted = new GrowthAdjustedFormulas(formulas, profiles);
    visits = new Visits(store.clock, store.audit, formulas, profiles, new ColourGate());
    windows = new Windows(store.clock, formulas, profiles);
  });
  afterEach(() => store.close());

  const cut = async (formula: FormulaInput) => {
    const input = { clientId, staffId: salon.mara.id, serviceId: salon.fullCut.id, formula };
    const visit = await validated(VisitInput, input);
    return await store.units.run(async (manager) => {
      await visits.close(manager, visit, SYSTEM);
      return await windows.refresh(manager, clientId);
    });
  };
  const days = (date: string | undefined) =>
    (Date.parse(`${date}T00:00:00Z`) - Date.parse('2026-06-01T00:00:00Z')) / 86_400_000;

  it('gives a fringe cut at the brow 37 days to the lid margin', async () => {
    const window = await cut(FRINGE_AT_BROW);
    // Brow z = -7 and upper lid margin z = -20 on the mean head: 13 mm, at the adult mean of 0.35 mm a day (Loussouarn
    // et al. 2005). The ends hang before the face, not straight down from the brow, hence the tolerance.
    expect(Math.abs(days(window?.dueOn) - 37)).toBeLessThanOrEqual(4);
    expect(window?.reason).toContain('upper eyelid');
  });

  it('gives a weight line that may drop 14.7 mm six weeks', async () => {
    const window = await cut(STACK);
    // 42 days at 0.35 mm a day let free ends drop 14.7 mm.
    expect(Math.abs(days(window?.dueOn) - 42)).toBeLessThanOrEqual(3);
  });

  it('refuses a landmark that the ends of the zone cannot reach', async () => {
    const limits = [{ kind: 'landmark' as const, zone: 'top' as const, landmark: 'brow', value: 0 }];
    await expect(cut({ ...FRINGE_AT_BROW, limits })).rejects.toMatchObject({
      kind: 'invalid',
      fields: [expect.objectContaining({ field: 'limits.0' })],
    });
  });

  it('refuses a formula that cannot be cut, with the number of the step', async () => {
    const steps = [
      ...CROP.steps,
      { zone: 'crown', method: 'travelling-guide', technique: 'club' } as const,
    ].map((step, i, all) =>
      i === all.length - 1 ? { ...step, geometry: { guideZone: 'crown' as const } } : step,
    );
    await expect(cut({ ...CROP, steps })).rejects.toMatchObject({ name: 'EngineError', step: 4 });
    expect(await windows.of(store.reader.manager, clientId)).toBeUndefined();
  });

  it('draws every view of every moment in words and lines, small and the same twice', async () => {
    await cut(CROP);
    const now = await adjusted.of(store.reader.manager, clientId, '2026-07-06');
    if (!now) throw new Error('no formula');
    for (const view of ['right', 'left', 'back', 'front'] as const) {
      for (const moment of ['as-cut', 'today', 'wanted'] as const) {
        const drawing = drawings.draw(now, view, moment, 'as-cut');
        const { svg } = drawing as { svg: string };
        expect(svg).toMatch(/^<svg [^>]*role="img"/);
        expect(svg).toContain('<desc');
        expect(svg).not.toContain('NaN');
        expect(svg.length).toBeLessThanOrEqual(25 * 1024);
      }
    }
    const twice = [1, 2].map(() => new Drawings().draw(now, 'back', 'today', 'as-cut'));
    expect(twice[0]).toEqual(twice[1]);
    const strip = drawings.strip(now, 'right') as { svg: string };
    expect(strip.svg).toContain('8 weeks');
  });
});
