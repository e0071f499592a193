import type { Proportion } from './wilson.js';

/**
 * Difference of two independent shares with its 95 % interval from their Wilson intervals, without continuity
 * correction (Newcombe 1998, Stat Med 17:873-890, method 10). Both groups must have cases.
 */
export function shareDifference(
  a: Proportion,
  b: Proportion,
): { difference: number; low: number; high: number } {
  if (a.of === 0 || b.of === 0) throw new RangeError('A difference of shares needs cases in both groups.');
  const difference = a.share - b.share;
  return {
    difference,
    low: difference - Math.hypot(a.share - a.low, b.high - b.share),
    high: difference + Math.hypot(a.high - a.share, b.share - b.low),
  };
}
