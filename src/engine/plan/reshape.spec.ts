import { describe, expect, it } from '@jest/globals';

import { growthPrior, initialProfile } from '../growth/index.js';
import { type ReshapeZone, reshapePath } from './index.js';

const profile = initialProfile(growthPrior());
const on = '2026-03-02';

/** Long-backed layered wedge and wedge pixie with a nape undercut: invented lengths in mm. */
const LONG_BACKED = {
  fringe: 80,
  top: 110,
  crown: 120,
  'left-side': 90,
  'right-side': 90,
  back: 150,
  nape: 180,
};
const PIXIE = { fringe: 60, top: 70, crown: 50, 'left-side': 30, 'right-side': 30, back: 35, nape: 6 };

function between(present: typeof PIXIE, wanted: typeof PIXIE): ReshapeZone[] {
  return (Object.keys(present) as (keyof typeof PIXIE)[]).map((zone) => ({
    zone,
    presentMm: present[zone],
    presentSdMm: 3,
    wantedMm: wanted[zone],
  }));
}

describe('reshapePath', () => {
  it('cuts the long-backed wedge to the pixie today and says how much comes off', () => {
    const path = reshapePath({ profile, on, zones: between(LONG_BACKED, PIXIE) });
    expect(path.feasibleToday).toBe(true);
    expect(path.ready90On).toBe(on);
    expect(path.words).toBe('Can be cut today.');
    expect(path.zones.find(({ zone }) => zone === 'nape')).toMatchObject({
      state: 'cut-now',
      cutMm: 174,
      missingMm: 0,
    });
    expect(path.stages).toHaveLength(1);
    expect(path.stages[0]).toMatchObject({ kind: 'target', lengthsMm: PIXIE });
  });

  // Arithmetic: 150 mm at 0.35 mm a day is 428.6 days.
  it('needs about 429 days for 150 mm', () => {
    const path = reshapePath({
      profile,
      on,
      zones: [{ zone: 'back', presentMm: 50, presentSdMm: 0, wantedMm: 200 }],
    });
    expect(path.ready50Days).toBe(429);
    expect(path.zones[0]?.words).toBe('too short today, 150 mm missing, there about 2027-05-05');
    // Closed form: (r² - z² s²) T² - 2 r D T + D² = 0 with z = 1.2816, so T = D / (r - z s).
    expect(path.ready90Days).toBe(Math.round(150 / (0.35 - 1.2815515655 * Math.hypot(0.06, 0.028))));
  });

  it('goes the way back by dated stages that leave alone what must grow', () => {
    const path = reshapePath({ profile, on, zones: between(PIXIE, LONG_BACKED) });
    expect(path.feasibleToday).toBe(false);
    expect(path.ready50Days).toBeGreaterThanOrEqual(Math.round(174 / 0.35));
    expect(path.ready90Days).toBeGreaterThan(path.ready50Days);
    const kinds = path.stages.map(({ kind }) => kind);
    expect(kinds[0]).toBe('today');
    expect(kinds.at(-1)).toBe('target');
    expect(path.stages.at(-1)?.lengthsMm).toEqual(LONG_BACKED);
    for (const stage of path.stages.slice(0, -1)) expect(stage.takeOffMm.nape).toBe(0);
    // The side has its 90 mm long before the nape its 180: from then on it is tidied back.
    const late = path.stages.at(-2);
    expect(late?.lengthsMm['left-side']).toBe(90);
    expect(late?.takeOffMm['left-side']).toBeCloseTo(42 * 0.35, 6);
  });

  it('keeps what is long enough at its length, or as long as blending asks', () => {
    const zones: ReshapeZone[] = [
      { zone: 'top', presentMm: 100, presentSdMm: 0, wantedMm: 40 },
      { zone: 'back', presentMm: 80, presentSdMm: 0, wantedMm: 120 },
    ];
    const plain = reshapePath({ profile, on, zones });
    expect(plain.stages[0]?.lengthsMm).toEqual({ top: 40, back: 80 });
    const blended = reshapePath({
      profile,
      on,
      zones,
      blend: [{ zone: 'top', against: 'back', maxShorterMm: 20 }],
    });
    expect(blended.stages[0]?.lengthsMm).toEqual({ top: 60, back: 80 });
    expect(blended.stages.at(-1)?.lengthsMm).toEqual({ top: 40, back: 120 });
  });

  it('counts what dusting costs, and refuses to dust away all growth', () => {
    const zones: ReshapeZone[] = [{ zone: 'back', presentMm: 50, presentSdMm: 0, wantedMm: 100 }];
    const dusted = reshapePath({ profile, on, zones, dustMm: 4, stageEveryDays: 40 });
    expect(dusted.ready50Days).toBe(Math.round(50 / (0.35 - 0.1)));
    expect(dusted.stages[1]).toMatchObject({ kind: 'tidy', takeOffMm: { back: 4 } });
    expect(() => reshapePath({ profile, on, zones, dustMm: 14, stageEveryDays: 40 })).toThrow(
      expect.objectContaining({ code: 'ENGINE.IMPOSSIBLE', field: 'dustMm' }),
    );
  });

  it('refuses lengths nobody can grow', () => {
    const zone: ReshapeZone = { zone: 'back', presentMm: 50, presentSdMm: 0, wantedMm: 1900 };
    expect(() => reshapePath({ profile, on, zones: [zone] })).toThrow(
      expect.objectContaining({ code: 'ENGINE.IMPOSSIBLE', field: 'wantedMm' }),
    );
    expect(() => reshapePath({ profile, on, zones: [{ ...zone, wantedMm: 400, terminalMm: 380 }] })).toThrow(
      'not expected to grow beyond 380 mm',
    );
  });
});
