import { describe, expect, it } from '@jest/globals';
import { weightedQuantile } from './quantile.js';

describe('weightedQuantile', () => {
  it('is the plain quantile for even weights', () => {
    expect(weightedQuantile([5, 1, 4, 2, 3], [1, 1, 1, 1, 1], 0.5)).toBe(3);
    expect(weightedQuantile([5, 1, 4, 2, 3], [1, 1, 1, 1, 1], 1)).toBe(5);
  });

  it('counts weight, not values', () => {
    expect(weightedQuantile([1, 2, 3], [1, 1, 8], 0.25)).toBe(3);
    expect(weightedQuantile([1, 2, 3], [8, 1, 1], 0.25)).toBe(1);
  });

  it('takes the smallest value at which the part is reached', () => {
    expect(weightedQuantile([1, 2], [1, 1], 0.5)).toBe(1);
    expect(weightedQuantile([1, 2], [1, 1], 0)).toBe(1);
  });

  it('gives the largest where rounding keeps the weights from adding up', () => {
    // 0.1 + 0.2 + 0.3 is 0.6000000000000001 and 0.3 + 0.2 + 0.1, in the order of the values, 0.6.
    expect(weightedQuantile([3, 2, 1], [0.1, 0.2, 0.3], 1)).toBe(3);
  });
});
