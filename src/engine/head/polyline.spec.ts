import { describe, expect, it } from '@jest/globals';
import { alongPolyline } from './polyline.js';

describe('alongPolyline', () => {
  const line = [
    [10, 0],
    [14, 8],
    [20, 5],
  ] as const;

  it.each([
    ['on a point', 14, 8],
    ['on the first', 10, 0],
    ['on the last', 20, 5],
    // rise 8 in 4
    ['on the first piece', 11, 2],
    // fall 3 in 6
    ['on the second piece', 18, 6],
    ['before the first point as the first piece runs', 9, -2],
    ['after the last point as the last piece runs', 22, 4],
  ])('%s', (_what, x, y) => {
    expect(alongPolyline(line, x)).toBeCloseTo(y, 12);
  });

  it('needs but two points', () => {
    expect(
      alongPolyline(
        [
          [0, 1],
          [1, 3],
        ],
        5,
      ),
    ).toBe(11);
  });
});
