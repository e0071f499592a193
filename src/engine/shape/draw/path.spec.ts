import { describe, expect, it } from '@jest/globals';
import { point, resampleLoop, smoothLinePath, smoothLoopPath } from './path.js';

const square = Float32Array.of(0, 0, 40, 0, 40, 40, 0, 40);

describe('paths', () => {
  it('resamples a loop evenly', () => {
    const out = resampleLoop(square, 10);
    expect(out).toHaveLength(32);
    expect(Array.from(out.slice(0, 6))).toEqual([0, 0, 10, 0, 20, 0]);
  });

  it('never goes under four points', () => {
    expect(resampleLoop(square, 500)).toHaveLength(8);
  });

  it('turns v upwards into y downwards, to a tenth of a millimetre', () => {
    expect(point(1.26, 2)).toBe('1.3 -2');
    expect(point(-0.01, 0.04)).toBe('0 0');
  });

  it('writes a closed spline through the middles of the edges', () => {
    expect(smoothLoopPath(square)).toBe('M0 -20Q0 0 20 0Q40 0 40 -20Q40 -40 20 -40Q0 -40 0 -20Z');
  });

  it('writes an open line from its first to its last point', () => {
    expect(smoothLinePath([0, 0, 10, 10])).toBe('M0 0L10 -10');
    expect(smoothLinePath([0, 0, 10, 10, 20, 0])).toBe('M0 0Q10 -10 20 0');
    expect(smoothLinePath([0, 0, 10, 10, 20, 0, 30, 0])).toBe('M0 0Q10 -10 15 -5Q20 0 30 0');
  });
});
