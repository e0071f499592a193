import { describe, expect, it } from '@jest/globals';
import {
  type GrowthProfile,
  growthPrior,
  initialProfile,
  type LengthObservation,
  observeVisit,
} from './index.js';
import { checkObservation, speaksOfUnrecordedCut, trustIn } from './trust.js';

const fresh = initialProfile(growthPrior());
/** As expected of the mean head: 10 mm left 35 days ago, 0.35 mm a day. */
const EXPECTED_MM = 22.25;
/**
 * Variance of one such measurement, worked out by hand: 35² (0.06² + 0.028²) of the rates, 1² of what was left, 5² of
 * the hand; the part that two zones share is 35² 0.06².
 */
const SD_MM = Math.sqrt(35 ** 2 * (0.06 ** 2 + 0.028 ** 2) + 1 + 25);
const SHARED = 35 ** 2 * 0.06 ** 2;

const seen = (changes: Partial<LengthObservation> = {}): LengthObservation => ({
  zone: 'nape',
  leftMm: 10,
  leftSdMm: 1,
  days: 35,
  measuredMm: EXPECTED_MM,
  measuredSdMm: 5,
  on: '2026-03-02',
  ...changes,
});

describe('trustIn', () => {
  // IGG III: Yang, Song, Xu 2002, J Geodesy 76:353-358, with k0 = 2.5 and k1 = 4.5.
  it.each([
    [0, 1],
    [2.49, 1],
    [3, (2.5 / 3) * (1.5 / 2) ** 2],
    [-3, (2.5 / 3) * (1.5 / 2) ** 2],
    [4, (2.5 / 4) * (0.5 / 2) ** 2],
    [4.51, 0],
  ])('weighs a surprise of %d standard deviations as the scheme does', (surprise, weight) => {
    const measuredMm = 60 + 12.25 + surprise * SD_MM;
    const { weight: got } = trustIn(fresh, seen({ leftMm: 60, measuredMm }));
    // Three standard deviations below lie below what was left, but within the error of two hands.
    expect(got).toBeCloseTo(weight, 9);
  });

  it('says what was learned, and how much counts of what is far off', () => {
    expect(trustIn(fresh, seen()).note).toBe('Learned from the nape.');
    expect(trustIn(fresh, seen({ zone: 'left-side', measuredMm: 39 })).note).toBe(
      '39 mm at the left side is far from the 22 mm expected: counted at 48 %.',
    );
  });

  it('takes a length below what was left for growth as long as the hands may err so far', () => {
    // 2.5 standard deviations of both errors are 2.5 √(1² + 5²) = 12.7 mm.
    expect(trustIn(fresh, seen({ leftMm: 40, measuredMm: 28 })).note).not.toContain(
      'shorter than it was left',
    );
    expect(trustIn(fresh, seen({ leftMm: 40, measuredMm: 27 }))).toEqual({
      weight: 0,
      note: 'The nape is 13 mm shorter than it was left: a cut that was not recorded, or a slip. Nothing was learned from it.',
    });
  });

  it('believes what was expected to the millimetre though nothing can err', () => {
    const sure: GrowthProfile = { ...fresh, covariance: fresh.covariance.map((row) => row.map(() => 0)) };
    expect(trustIn(sure, seen({ leftSdMm: 0, measuredSdMm: 0 })).weight).toBe(1);
    const { profile, zones } = observeVisit(sure, [seen({ leftSdMm: 0, measuredSdMm: 0 })]);
    expect(zones[0]?.verdict).toBe('used');
    expect(profile.mean.every(Number.isFinite)).toBe(true);
  });
});

describe('speaksOfUnrecordedCut', () => {
  const zones = ['fringe', 'top', 'crown', 'nape'] as const;
  const short = (mm: number) => zones.map((zone) => seen({ zone, measuredMm: EXPECTED_MM - mm }));

  it('draws the line at three standard deviations of the common shift', () => {
    // Of n equal measurements with variance v and covariance c the mean has variance (v + (n - 1) c) / n.
    const sdMm = Math.sqrt((SD_MM ** 2 + 3 * SHARED) / 4);
    expect(speaksOfUnrecordedCut(fresh, short(3 * sdMm - 0.01))).toBe(false);
    expect(speaksOfUnrecordedCut(fresh, short(3 * sdMm + 0.01))).toBe(true);
  });

  it('trusts the surer of two measurements more, as generalised least squares do', () => {
    // Textbook formulas for two correlated measurements of one quantity (best linear unbiased estimate).
    const sure = 35 ** 2 * (0.06 ** 2 + 0.028 ** 2) + 1 + 1;
    const vague = SD_MM ** 2;
    const sum = sure + vague - 2 * SHARED;
    const weight = (vague - SHARED) / sum;
    const sdMm = Math.sqrt((sure * vague - SHARED ** 2) / sum);
    const pair = (shortMm: number) => [
      seen({ measuredSdMm: 1, measuredMm: EXPECTED_MM - shortMm }),
      seen({ zone: 'top' }),
    ];
    expect(speaksOfUnrecordedCut(fresh, pair((3 * sdMm) / weight - 0.01))).toBe(false);
    expect(speaksOfUnrecordedCut(fresh, pair((3 * sdMm) / weight + 0.01))).toBe(true);
  });

  it('needs two zones', () => {
    expect(speaksOfUnrecordedCut(fresh, [seen({ measuredMm: 0, leftMm: 100 })])).toBe(false);
    expect(speaksOfUnrecordedCut(fresh, short(30).slice(0, 2))).toBe(true);
  });

  it('counts rates that go together as such, zone by zone', () => {
    // After one measurement person and zone are correlated; the variance of the sum of all rates says it all.
    const { profile } = observeVisit(fresh, [seen({ measuredSdMm: 1, on: '2026-02-01' })]);
    const of = (a: number, b: number) => profile.covariance[a]?.[b] ?? Number.NaN;
    const [nape, top] = [7, 2];
    const between = (i: number, j: number) => 35 ** 2 * (of(0, 0) + of(0, j) + of(i, 0) + of(i, j));
    const v = [between(nape, nape) + 26, between(top, top) + 26] as const;
    const c = between(nape, top);
    const sum = v[0] + v[1] - 2 * c;
    const weight = (v[1] - c) / sum;
    const sdMm = Math.sqrt((v[0] * v[1] - c ** 2) / sum);
    const expected = (zone: 'nape' | 'top', z: number) =>
      seen({ zone, measuredMm: 10 + 35 * (0.35 + (profile.mean[0] ?? 0) + (profile.mean[z] ?? 0)) });
    const pair = (shortMm: number) => {
      const first = expected('nape', nape);
      return [{ ...first, measuredMm: first.measuredMm - shortMm }, expected('top', top)];
    };
    expect(speaksOfUnrecordedCut(profile, pair((3 * sdMm) / weight - 0.01))).toBe(false);
    expect(speaksOfUnrecordedCut(profile, pair((3 * sdMm) / weight + 0.01))).toBe(true);
  });
});

describe('a visit', () => {
  it('learns from the other zones when one was a slip', () => {
    const { unrecordedCut, zones } = observeVisit(fresh, [
      seen({ zone: 'top' }),
      seen({ zone: 'crown' }),
      seen({ leftMm: 200, measuredMm: 0 }),
    ]);
    expect(unrecordedCut).toBe(false);
    expect(zones.map(({ verdict }) => verdict)).toEqual(['used', 'used', 'set-aside']);
  });

  it('says of a cut that nobody recorded that nothing was learned, and keeps the words of a slip beside it', () => {
    const all = (['fringe', 'top', 'crown', 'back'] as const).map((zone) => seen({ zone, measuredMm: 11 }));
    const { unrecordedCut, zones } = observeVisit(fresh, [...all, seen({ leftMm: 200, measuredMm: 0 })]);
    expect(unrecordedCut).toBe(true);
    expect(zones[0]?.note).toBe(
      'All zones together are shorter than growth explains: probably a cut that was not recorded. Nothing was learned from this visit.',
    );
    expect(zones.at(-1)?.note).toContain('200 mm shorter than it was left');
  });

  it('without a measurement leaves the profile as it was', () => {
    expect(observeVisit(fresh, [])).toEqual({ profile: fresh, zones: [], unrecordedCut: false });
  });

  it('written up late does not make the profile older', () => {
    const { profile } = observeVisit(fresh, [seen()]);
    expect(profile.lastUpdatedOn).toBe('2026-03-02');
    expect(observeVisit(profile, [seen({ on: '2026-02-01' })]).profile.lastUpdatedOn).toBe('2026-03-02');
    expect(observeVisit(profile, [seen({ on: '2026-04-01' })]).profile.lastUpdatedOn).toBe('2026-04-01');
  });
});

describe('checkObservation', () => {
  it.each(['leftSdMm', 'measuredSdMm'] as const)('names %s', (field) => {
    expect(() => checkObservation(seen({ [field]: -1 }))).toThrow(expect.objectContaining({ field }));
  });

  it('knows the zones', () => {
    expect(() => checkObservation(seen({ zone: 'beard' as 'nape' }))).toThrow(
      expect.objectContaining({
        code: 'ENGINE.UNKNOWN_ZONE',
        message: 'zone must be one of fringe, top, crown, left-side, right-side, back, nape.',
      }),
    );
  });
});
