import { describe, expect, it } from '@jest/globals';
import { bisect } from './bisect.js';

const search = { field: 'elevationDeg', min: 0, max: 2, tolerance: 1e-9 };

describe('bisect', () => {
  it('finds a root of a rising and of a falling figure (square root of two)', () => {
    expect(bisect((x) => x * x, 2, search)).toBeCloseTo(Math.SQRT2, 8);
    expect(bisect((x) => -x * x, -2, search)).toBeCloseTo(Math.SQRT2, 8);
  });

  it('takes the bounds themselves as answers', () => {
    expect(bisect((x) => x, 0, search)).toBeCloseTo(0, 8);
    expect(bisect((x) => x, 2, search)).toBeCloseTo(2, 8);
  });

  it('stops as soon as the answer lies within the tolerance', () => {
    // 0 to 2 halved once is 0 to 1, no wider than 1: its middle.
    expect(bisect((x) => x, 0.3, { ...search, tolerance: 1 })).toBe(0.5);
  });

  it('says where the bounds are and what they give, either way round', () => {
    const words = (figure: (x: number) => number, wanted: number) => () => bisect(figure, wanted, search);
    expect(words((x) => 10 * x, -5)).toThrow(
      'No elevationDeg between 0 and 2 gives -5.0; within reach is 0.0 to 20.0.',
    );
    expect(words((x) => -10 * x, 5)).toThrow('gives 5.0; within reach is -20.0 to 0.0.');
    expect(words((x) => -10 * x, -20.1)).toThrow('gives -20.1; within reach is -20.0 to 0.0.');
  });

  it('says what is within reach when the wish is not', () => {
    expect(() => bisect((x) => 10 * x, 35, search)).toThrow(
      expect.objectContaining({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'elevationDeg',
        message: expect.stringContaining('within reach is 0.0 to 20.0'),
      }),
    );
  });

  it('refuses a wish or a figure that is no number', () => {
    expect(() => bisect((x) => x, Number.NaN, search)).toThrow(
      expect.objectContaining({ code: 'ENGINE.NOT_A_NUMBER', field: 'elevationDeg.wanted' }),
    );
    expect(() => bisect(() => Number.NaN, 1, search)).toThrow(
      expect.objectContaining({ code: 'ENGINE.NOT_A_NUMBER', field: 'elevationDeg' }),
    );
  });
});
