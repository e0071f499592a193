import { requireNumber } from '../errors.js';
import type { Zone } from '../zones.js';
import { bordersOf, type PlacedRoots } from './borders.js';
import { zoneMeansMm } from './zone-means.js';

/** How much longer one zone is than the zone beside it. */
export interface Contrast {
  /** Longer zone first; at equal length in the order of ZONES. */
  readonly longer: Zone;
  readonly shorter: Zone;
  /** Mean of the longer zone less mean of the shorter, in mm, 0 or more. */
  readonly differenceMm: number;
  /** Mean of the longer zone over mean of the shorter, 1 or more; null where the shorter is shaved to nothing. */
  readonly ratio: number | null;
  /**
   * The same difference between the roots within 9 mm of the border alone, in mm: near 0 where the zones are blended,
   * negative where at the very border the other zone is the longer.
   */
  readonly atBorderMm: number;
}

/** The contrast of every pair of zones that touch. Lengths in mm, one per root, 0 or more. */
export function contrasts(roots: PlacedRoots, lengthsMm: ArrayLike<number>): Contrast[] {
  const means = zoneMeansMm(roots, lengthsMm);
  return bordersOf(roots).map(({ zones: [a, b], roots: [atA, atB] }) => {
    const meanA = means[a] ?? 0;
    const meanB = means[b] ?? 0;
    const swap = meanB > meanA;
    const borderMm = meanAt(roots, lengthsMm, atA) - meanAt(roots, lengthsMm, atB);
    const [high, low] = swap ? [meanB, meanA] : [meanA, meanB];
    return {
      longer: swap ? b : a,
      shorter: swap ? a : b,
      differenceMm: high - low,
      ratio: low > 0 ? high / low : null,
      atBorderMm: swap ? -borderMm : borderMm,
    };
  });
}

/**
 * Days until the shorter of two lengths has grown to `times` itself, by which a clipped zone loses its contrast with the
 * skin: L·(times - 1)/rate.
 *
 * @param lengthMm 0 to 3000; @param ratePerDayMm over 0, to 2; @param times 1 to 100
 */
export function daysToMultiply(lengthMm: number, ratePerDayMm: number, times = 2): number {
  requireNumber(lengthMm, 'lengthMm', 0, 3000);
  requireNumber(ratePerDayMm, 'ratePerDayMm', Number.MIN_VALUE, 2);
  requireNumber(times, 'times', 1, 100);
  return (lengthMm * (times - 1)) / ratePerDayMm;
}

function meanAt(roots: PlacedRoots, lengthsMm: ArrayLike<number>, at: Int32Array): number {
  let sum = 0;
  let area = 0;
  for (const i of at) {
    sum += roots.areaMm2[i]! * lengthsMm[i]!;
    area += roots.areaMm2[i]!;
  }
  return sum / area;
}
