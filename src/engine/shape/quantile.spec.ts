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
});
