/** 97.5th percentile of the standard normal distribution. */
const Z_95 = 1.959963984540054;

/** A share with its 95 % interval, all from 0 to 1. */
export type Proportion = {
  readonly count: number;
  readonly of: number;
  readonly share: number;
  readonly low: number;
  readonly high: number;
};

/**
 * Wilson's score interval without continuity correction at 95 % (Wilson 1927; Newcombe 1998, Stat Med 17:857-872,
 * method 3). Without any case the share is NaN-free: 0, with the whole range as its interval.
 */
export function wilson(count: number, of: number): Proportion {
  if (!Number.isInteger(count) || !Number.isInteger(of) || count < 0 || of < count) {
    throw new RangeError(`A proportion needs whole numbers 0 <= count <= of, not ${count} of ${of}.`);
  }
  if (of === 0) return { count, of, share: 0, low: 0, high: 1 };
  const share = count / of;
  const z2 = Z_95 * Z_95;
  const middle = (share + z2 / (2 * of)) / (1 + z2 / of);
  const half = (Z_95 * Math.sqrt((share * (1 - share)) / of + z2 / (4 * of * of))) / (1 + z2 / of);
  return { count, of, share, low: Math.max(0, middle - half), high: Math.min(1, middle + half) };
}
