import { describe, expect, it } from '@jest/globals';
import { wilson } from './wilson.js';

describe('wilson', () => {
  // Newcombe 1998, Stat Med 17:857-872, table I, method 3.
  it.each([
    [81, 263, 0.2553, 0.3662],
    [15, 148, 0.0624, 0.1605],
    [0, 20, 0, 0.1611],
    [1, 29, 0.0061, 0.1718],
  ])('gives the published interval of %i in %i', (count, of, low, high) => {
    const proportion = wilson(count, of);
    expect(proportion.low).toBeCloseTo(low, 4);
    expect(proportion.high).toBeCloseTo(high, 4);
    expect(proportion.share).toBe(count / of);
  });

  it('says nothing where there is nothing to count', () => {
    expect(wilson(0, 0)).toEqual({ count: 0, of: 0, share: 0, low: 0, high: 1 });
  });

  it('refuses what is no proportion', () => {
    expect(() => wilson(3, 2)).toThrow(RangeError);
    expect(() => wilson(-1, 2)).toThrow(RangeError);
    expect(() => wilson(0.5, 2)).toThrow(RangeError);
  });
});
