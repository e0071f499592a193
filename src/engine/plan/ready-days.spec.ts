import { describe, expect, it } from '@jest/globals';

import { type GrowingZone, readyDays } from './ready-days.js';

/** Mean rates, parts shared by the person, rest; the same for all seven zones. */
const loadings = (mean: number, shared = 0, rest = 0) =>
  Float64Array.from({ length: 21 }, (_, i) => [mean, shared, rest][Math.floor(i / 7)] as number);
const back: GrowingZone = { zone: 'back', deficitMm: 35, sdMm: 0, dustMmPerDay: 0 };

describe('readyDays', () => {
  it('needs no day for nothing', () => {
    expect(readyDays(loadings(0.35), [])).toEqual([0, 0]);
  });

  it('divides what lacks by what grows and is not dusted off', () => {
    expect(readyDays(loadings(0.35), [back])).toEqual([100, 100]);
    // 35 / (0.35 - 0.1).
    expect(readyDays(loadings(0.35), [{ ...back, dustMmPerDay: 0.1 }])).toEqual([140, 140]);
  });

  // 1.2816 is the 90 % point of the normal distribution: 0.35 t = 35 + 1.2816 × 7 at t = 125.6.
  it('waits longer for certainty where today’s length is doubtful', () => {
    expect(readyDays(loadings(0.35), [{ ...back, sdMm: 7 }])).toEqual([100, 126]);
  });

  // 0.35 t - 35 = 1.2816 × √((0.03² + 0.04²) t² + 7²): (0.35² - 1.6424 × 0.0025) t² - 24.5 t + 35² - 1.6424 × 49 = 0,
  // 0.118394 t² - 24.5 t + 1144.52 = 0, the greater root 135.7.
  it('combines the doubt about the person, the zone and the length', () => {
    expect(readyDays(loadings(0.35, 0.03, 0.04), [{ ...back, sdMm: 7 }])).toEqual([100, 136]);
    expect(readyDays(loadings(0.35, 0.04, 0.03), [{ ...back, sdMm: 7 }])).toEqual([100, 136]);
  });

  // Two that know nothing of each other are both there with the square of the probability of one:
  // √0.5 at 0.5450 standard deviations, (35 + 0.5450 × 7) / 0.35 = 110.9; √0.9 at 1.6322, 132.6.
  it('waits for all zones', () => {
    const doubtful = { ...back, sdMm: 7 };
    expect(readyDays(loadings(0.35), [doubtful, { ...doubtful, zone: 'nape' }])).toEqual([111, 133]);
  });

  it('looks up each zone’s own rate', () => {
    const mixed = loadings(0.35);
    mixed[6] = 0.25;
    expect(readyDays(mixed, [{ ...back, zone: 'nape' }])).toEqual([140, 140]);
    expect(readyDays(mixed, [back])).toEqual([100, 100]);
  });

  it('refuses more than ten years, and names the zone that lacks most', () => {
    const zones = (backMm: number, napeMm: number): GrowingZone[] => [
      { ...back, deficitMm: backMm },
      { ...back, zone: 'nape', deficitMm: napeMm },
    ];
    // 0.1 mm a day for 3660 days: 366 mm.
    expect(readyDays(loadings(0.1), zones(365.9, 1))).toEqual([3659, 3659]);
    const refusal = (zone: string, mm: number) =>
      expect.objectContaining({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'wantedMm',
        message: `The ${zone} lacks ${mm} mm, more than ten years' growth: want less of it.`,
      });
    expect(() => readyDays(loadings(0.1), zones(366.1, 1))).toThrow(refusal('back', 366));
    expect(() => readyDays(loadings(0.1), zones(400, 500.4))).toThrow(refusal('nape', 500));
    expect(() => readyDays(loadings(0.1), zones(500, 500))).toThrow(refusal('back', 500));
  });
});
