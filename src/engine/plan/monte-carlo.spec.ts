import { describe, expect, it } from '@jest/globals';

import {
  daysBetween,
  type GrowthProfile,
  growthPrior,
  initialProfile,
  observeGrowth,
} from '../growth/index.js';
import { seededNormal, seededUniform } from '../stats/index.js';
import { ZONES, type Zone } from '../zones.js';
import { type HoldLimit, rebookingWindow, type ZoneLeft } from './index.js';

const { abs, max, min, sqrt } = Math;
const CUT_ON = '2025-07-31';

/**
 * The window computed the plain way: draw up to a million persons from the profile's joint distribution, work out from the
 * definition of each limit on which day it is passed, take the first, and read off the 10, 50 and 90 % points.
 */
function simulatedWindow(
  profile: GrowthProfile,
  zones: readonly ZoneLeft[],
  limits: readonly HoldLimit[],
  draws: number,
): { days: [number, number, number]; firstShares: number[] } {
  const normal = seededNormal(seededUniform(20260302));
  const root = cholesky(profile.covariance);
  const daysBefore = ZONES.map((name) =>
    daysBetween(zones.find(({ zone }) => zone === name)?.leftOn ?? CUT_ON, CUT_ON),
  );
  const first = new Float64Array(draws);
  const shares = limits.map(() => 0);
  const x = new Float64Array(8);
  const rate = new Float64Array(7);
  const left = new Float64Array(7);
  for (let draw = 0; draw < draws; draw += 1) {
    for (let i = 0; i < 8; i += 1) x[i] = normal();
    let person = 0;
    for (let i = 0; i < 8; i += 1) {
      let value = profile.mean[i] as number;
      const row = root[i] as number[];
      for (let j = 0; j <= i; j += 1) value += (row[j] as number) * (x[j] as number);
      if (i === 0) person = value;
      else rate[i - 1] = profile.prior.meanMmPerDay + person + value;
    }
    for (const zone of zones) left[ZONES.indexOf(zone.zone)] = zone.leftMm + zone.leftSdMm * normal();
    let day = 1e9;
    let who = 0;
    for (let k = 0; k < limits.length; k += 1) {
      const passed = dayPassed(limits[k] as HoldLimit, zones, daysBefore, rate, left, normal);
      if (passed < day) who = k;
      day = min(day, passed);
    }
    first[draw] = day;
    shares[who] = (shares[who] ?? 0) + 1 / draws;
  }
  first.sort();
  const days = [0.1, 0.5, 0.9].map((q) => first[Math.floor(q * draws)] ?? 0) as [number, number, number];
  return { days, firstShares: shares };
}

function dayPassed(
  limit: HoldLimit,
  zones: readonly ZoneLeft[],
  daysBefore: readonly number[],
  rate: Float64Array,
  left: Float64Array,
  normal: () => number,
): number {
  const z = ZONES.indexOf(limit.kind === 'root-band' ? 'top' : limit.zone);
  const r = rate[z] ?? 0;
  const shift = 'sdMm' in limit ? (limit.sdMm ?? 0) * normal() : 0;
  const before = daysBefore[z] ?? 0;
  const reach = (mm: number, days = before) => (r > 0 ? max(0, mm / r - days) : mm <= 0 ? 0 : 1e9);
  switch (limit.kind) {
    case 'grown-by':
      return reach(limit.mm + shift);
    case 'root-band':
      return reach(limit.mm + shift, 10);
    case 'weight-line':
      return reach(limit.dropMm + shift);
    case 'longer-than':
      return reach(limit.mm + shift - (left[z] ?? 0));
    case 'landmark': {
      const recorded = zones.find((zone) => zone.zone === limit.zone)?.leftMm ?? 0;
      return reach((limit.allowanceMm ?? 0) + shift - ((left[z] ?? 0) - recorded));
    }
    case 'contrast': {
      const a = ZONES.indexOf(limit.against);
      const share = limit.by === 'ratio' ? limit.value : 1;
      const longer = (left[a] ?? 0) + (rate[a] ?? 0) * (daysBefore[a] ?? 0);
      const shorter = (left[z] ?? 0) + r * before;
      const start = longer - share * shorter - (limit.by === 'ratio' ? 0 : limit.value);
      const loss = share * r - (rate[a] ?? 0);
      return start <= 0 ? 0 : loss > 0 ? start / loss : 1e9;
    }
  }
}

function cholesky(matrix: readonly (readonly number[])[]): number[][] {
  const root = matrix.map((row) => row.map(() => 0));
  for (let i = 0; i < matrix.length; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      let sum = matrix[i]?.[j] ?? 0;
      for (let k = 0; k < j; k += 1) sum -= (root[i]?.[k] ?? 0) * (root[j]?.[k] ?? 0);
      (root[i] as number[])[j] = i === j ? sqrt(sum) : sum / (root[j]?.[j] ?? 1);
    }
  }
  return root;
}

const fresh = initialProfile(growthPrior());
const measured = (['nape', 'fringe', 'nape', 'top', 'nape'] as const).reduce(
  (profile, zone, visit) =>
    observeGrowth(profile, {
      zone,
      leftMm: 20,
      leftSdMm: 2,
      days: 35,
      measuredMm: 20 + 35 * (0.4 + 0.01 * visit),
      measuredSdMm: 3,
      on: `2025-0${visit + 3}-10`,
    }).profile,
  fresh,
);

const lengths: Record<Zone, number> = {
  fringe: 70,
  top: 90,
  crown: 80,
  'left-side': 40,
  'right-side': 40,
  back: 60,
  nape: 8,
};
const zones = (leftSdMm: number) =>
  ZONES.map((zone): ZoneLeft => ({ zone, leftMm: lengths[zone], leftSdMm }));
/** As a tidy of the nape leaves them: all else was cut three weeks earlier. */
const tidied = ZONES.map(
  (zone): ZoneLeft => ({
    zone,
    leftMm: lengths[zone],
    leftSdMm: 2,
    leftOn: zone === 'nape' ? CUT_ON : '2025-07-10',
  }),
);

interface Story {
  readonly name: string;
  readonly profile: GrowthProfile;
  readonly zones: readonly ZoneLeft[];
  readonly limits: readonly HoldLimit[];
  readonly draws: number;
}

const stories: readonly Story[] = [
  {
    name: 'one limit, rate alone unsure',
    draws: 200_000,
    profile: fresh,
    zones: zones(0),
    limits: [{ kind: 'grown-by', zone: 'nape', mm: 12 }],
  },
  {
    name: 'five zones of much the same hold',
    draws: 1_000_000,
    profile: fresh,
    zones: zones(2),
    limits: [
      { kind: 'grown-by', zone: 'nape', mm: 12 },
      { kind: 'landmark', zone: 'fringe', landmark: 'lid margin', allowanceMm: 13 },
      { kind: 'longer-than', zone: 'left-side', mm: 53 },
      { kind: 'longer-than', zone: 'right-side', mm: 53 },
      { kind: 'weight-line', zone: 'back', dropMm: 14, sdMm: 2 },
    ],
  },
  {
    name: 'two limits on each zone, contrasts and a root band, after five measurements',
    draws: 1_000_000,
    profile: measured,
    zones: zones(3),
    limits: [
      { kind: 'grown-by', zone: 'nape', mm: 15, sdMm: 2 },
      { kind: 'longer-than', zone: 'nape', mm: 24 },
      { kind: 'contrast', zone: 'nape', against: 'back', by: 'ratio', value: 3.2 },
      { kind: 'contrast', zone: 'left-side', against: 'back', by: 'difference', value: 15 },
      { kind: 'landmark', zone: 'fringe', landmark: 'lid margin', allowanceMm: 18 },
      { kind: 'root-band', mm: 21, colouredOn: '2025-07-21' },
    ],
  },
  {
    name: 'after a tidy of the nape, the rest cut three weeks before',
    draws: 200_000,
    profile: measured,
    zones: tidied,
    limits: [
      { kind: 'grown-by', zone: 'nape', mm: 14 },
      { kind: 'weight-line', zone: 'back', dropMm: 20 },
      { kind: 'longer-than', zone: 'top', mm: 112 },
      { kind: 'contrast', zone: 'nape', against: 'back', by: 'ratio', value: 3.4 },
      { kind: 'landmark', zone: 'fringe', landmark: 'lid margin', allowanceMm: 22 },
    ],
  },
];

describe('rebookingWindow against drawn persons', () => {
  it.each(stories)('agrees to a day, and on what goes first, with $draws of them: $name', (story) => {
    const window = rebookingWindow({ ...story, cutOn: CUT_ON });
    const simulated = simulatedWindow(story.profile, story.zones, story.limits, story.draws);
    const computed = [window.earliestDays, window.dueDays, window.latestDays];
    for (const [i, day] of simulated.days.entries()) {
      expect(abs((computed[i] ?? 0) - day)).toBeLessThanOrEqual(1);
    }
    const share = simulated.firstShares[story.limits.indexOf(window.first.limit)] ?? 0;
    expect(max(...simulated.firstShares) - share).toBeLessThan(0.03);
    expect(abs(share - window.first.probability)).toBeLessThan(0.03);
  });
});
