import { describe, expect, it } from '@jest/globals';
import { ZONES, type Zone } from '../zones.js';
import { buildHead, mirrorZone, TRADE_ZONE_BOUNDS, type ZoneBounds } from './index.js';
import { zoneIndexAt } from './zoning.js';

const DEGREE = Math.PI / 180;
const WHORL = { x: 0, y: -61, z: 69 };

describe('zones by their bounds', () => {
  const zoneAt = (
    x: number,
    y: number,
    z: number,
    nz: number,
    bounds: ZoneBounds = TRADE_ZONE_BOUNDS,
  ): Zone => ZONES[zoneIndexAt(bounds, WHORL, x, y, z, nz)]!;
  /** A place `az` degrees from the front and `r` from the axis. */
  const round = (az: number, r: number): [number, number] => [
    r * Math.sin(az * DEGREE),
    r * Math.cos(az * DEGREE),
  ];

  // Bounds of the design: each of them is tried from both sides and, where that is exact, on it.
  it.each<[string, readonly [number, number, number, number], Zone]>([
    ['below -40 and behind 105 degrees', [...round(106, 70), -41, 0], 'nape'],
    ['the same on the left', [...round(-106, 70), -41, 0], 'nape'],
    ['at -40', [...round(106, 70), -40, 0], 'back'],
    ['below -40 before 105 degrees', [...round(104, 70), -41, 0], 'right-side'],
    ['straight behind', [0, -60, -90, 0], 'nape'],
    ['38 from the whorl', [0, -61 + 38, 69, 1], 'crown'],
    ['38 from the whorl sideways', [-38, -61, 69, 0], 'crown'],
    ['38 from the whorl downwards', [0, -61, 69 - 38, 0], 'crown'],
    ['24, 24 and 24 from the whorl: 41.6', [24, -61 + 24, 69 - 24, 0], 'back'],
    ['21, 21 and 21 from the whorl: 36.4', [21, -61 + 21, 69 - 21, 0], 'crown'],
    ['38.1 from the whorl sideways', [38.1, -61, 69, 0], 'back'],
    ['within 38 degrees from y = 45 on', [...round(37.9, 45.1 / Math.cos(37.9 * DEGREE)), 55, 0.6], 'fringe'],
    ['at y = 45', [0, 45, 79, 0.9], 'fringe'],
    ['the same on the left', [...round(-37.9, 60), 55, 0.6], 'fringe'],
    ['before y = 45', [0, 44.9, 79, 0.9], 'top'],
    ['beyond 38 degrees over the ridge', [...round(38.1, 60), 55, 0.574], 'top'],
    ['beyond 38 degrees below the ridge', [...round(38.1, 60), 55, 0.573], 'right-side'],
    ['below the ridge within 30 degrees', [...round(29.9, 40), 55, 0.2], 'top'],
    ['below the ridge beyond 30 degrees', [...round(30.1, 40), 55, 0.2], 'right-side'],
    ['below the ridge beyond 30 degrees on the left', [...round(-30.1, 40), 55, 0.2], 'left-side'],
    ['over the ridge at y = -30', [60, -30, 40, 0.7], 'top'],
    ['over the ridge behind y = -30', [60, -30.1, 40, 0.7], 'crown'],
    ['over the ridge at the side', [60, 0, 50, 0.7], 'top'],
    ['at 104.9 degrees', [...round(104.9, 75), 0, 0], 'right-side'],
    ['at -104.9 degrees', [...round(-104.9, 75), 0, 0], 'left-side'],
    ['at 105.1 degrees', [...round(105.1, 75), 0, 0], 'back'],
    ['at -105.1 degrees', [...round(-105.1, 75), 0, 0], 'back'],
  ])('%s', (_what, at, zone) => {
    expect(zoneAt(...at)).toBe(zone);
  });

  it('includes angles that stand exactly on a bound, but for that of the nape and the top', () => {
    // atan2(1, 1) is exactly a quarter of pi.
    const on = (more: Partial<ZoneBounds>): ZoneBounds => ({ ...TRADE_ZONE_BOUNDS, ...more });
    expect(zoneAt(50, 50, 0, 0, on({ fringeWithinDegrees: 45 }))).toBe('fringe');
    expect(zoneAt(50, 50, 0, 0, on({ topWithinDegrees: 45 }))).toBe('right-side');
    expect(zoneAt(50, -50, 0, 0, on({ sideToDegrees: 135 }))).toBe('right-side');
    expect(zoneAt(50, -50, -60, 0, on({ napeBehindDegrees: 135 }))).toBe('back');
  });
});

describe('zones as data', () => {
  it.each([
    ['fringe', 0, 70],
    ['top', 0, 10],
    ['crown', 0, -55],
    ['left-side', -72, 10],
    ['right-side', 72, 10],
    ['back', 0, -93],
  ])('%s', (zone, x, y) => {
    const head = buildHead({ rootCount: 200 });
    const z = 90 * Math.sqrt(1 - (x / 75) ** 2 - (y / 95) ** 2);
    expect(ZONES[head.zoneIndexAt(x, y, z)]).toBe(zone);
  });

  it('end the nape where the stylist sections it', () => {
    const at = [0, -84, -42] as const;
    expect(ZONES[buildHead({ rootCount: 200 }).zoneIndexAt(...at)]).toBe('nape');
    const lower = buildHead({ rootCount: 200, zoneBounds: { ...TRADE_ZONE_BOUNDS, napeBelowZMm: -60 } });
    expect(ZONES[lower.zoneIndexAt(...at)]).toBe('back');
    expect(lower.roots.zone).toContain(ZONES.indexOf('nape'));
    lower.roots.zone.forEach((zone, i) => {
      if (ZONES[zone] === 'nape') expect(lower.roots.position[3 * i + 2]!).toBeLessThan(-60);
    });
  });

  it('move the crown with the whorl', () => {
    const left = buildHead({ whorlSide: 'left', rootCount: 900 });
    const right = buildHead({ whorlAtMm: { x: 15, y: -61 }, rootCount: 900 });
    expect(left.landmarks.whorl.x).toBe(-15);
    const crownOf = (h: typeof left, odd: number): number =>
      h.roots.zone.filter((zone, i) => i % 2 === odd && ZONES[zone] === 'crown').length;
    expect(crownOf(left, 1)).toBeGreaterThan(crownOf(left, 0));
    expect(crownOf(left, 1)).toBe(crownOf(right, 0));
  });

  it('are sorted on the mean head, whatever the size', () => {
    const large = buildHead({ rootCount: 200, circumferenceMm: 560 * 1.2 });
    // Of the large head: z = -42 is -35 on the mean one, z = -54 is -45.
    expect(ZONES[large.zoneIndexAt(0, -94 * 1.2, -42)]).toBe('back');
    expect(ZONES[large.zoneIndexAt(0, -94 * 1.2, -54)]).toBe('nape');
    expect(ZONES[large.zoneIndexAt(0, 44 * 1.2, 80 * 1.2)]).toBe('top');
    expect(ZONES[large.zoneIndexAt(0, 46 * 1.2, 78 * 1.2)]).toBe('fringe');
    // 36 degrees round, as on the mean head.
    expect(ZONES[large.zoneIndexAt(35 * 1.2, 48 * 1.2, 65 * 1.2)]).toBe('fringe');
    // 44 beside a whorl that is given on the large head: 36.7 on the mean one.
    expect(ZONES[large.zoneIndexAt(44, -61 * 1.2, 69 * 1.2)]).toBe('crown');
  });
});

describe('the zone across the midline', () => {
  it('changes the sides and keeps the others', () => {
    expect(ZONES.map(mirrorZone)).toEqual([
      'fringe',
      'top',
      'crown',
      'right-side',
      'left-side',
      'back',
      'nape',
    ]);
  });
});
