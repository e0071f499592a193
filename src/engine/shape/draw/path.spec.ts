import { describe, expect, it } from '@jest/globals';
import { calmLoop, point, resampleLoop, smoothLinePath, smoothLoopPath } from './path.js';

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

  it('takes the points where they fall along uneven edges', () => {
    // 30 by 10, so 80 round: after 0, 20, 40 and 60 mm.
    const out = resampleLoop(Float32Array.of(0, 0, 30, 0, 30, 10, 0, 10), 20);
    expect([...out]).toEqual([0, 0, 20, 0, 30, 10, 10, 10]);
    // 84 round to the nearest count: 12 points of 7 mm for a wish of 6.8 mm (12.35 of them).
    const more = resampleLoop(Float32Array.of(0, 0, 32, 0, 32, 10, 0, 10), 6.8);
    expect(more).toHaveLength(24);
    expect([...more.slice(0, 12)]).toEqual([0, 0, 7, 0, 14, 0, 21, 0, 28, 0, 32, 3]);
    expect([...more.slice(22)]).toEqual([0, 7]);
  });

  it('passes over points that coincide, and keeps a loop without extent where it is', () => {
    const twice = resampleLoop(Float32Array.of(0, 0, 0, 0, 40, 0, 40, 0, 40, 40, 0, 40), 40);
    expect([...twice]).toEqual([0, 0, 40, 0, 40, 40, 0, 40]);
    expect([...resampleLoop(Float32Array.of(3, 4, 3, 4, 3, 4), 5)]).toEqual([3, 4, 3, 4, 3, 4, 3, 4]);
  });

  it('calms every point by 1-2-1 with its neighbours', () => {
    // (8, 0) between (0, 0) and (4, 16): (0 + 2·8 + 4) / 4 across, (0 + 0 + 16) / 4 up; the others likewise.
    expect([...calmLoop(Float32Array.of(0, 0, 8, 0, 4, 16), 1)]).toEqual([3, 4, 5, 4, 4, 8]);
    // A square shrinks to half about its middle with every pass.
    expect([...calmLoop(square, 2)]).toEqual([15, 15, 25, 15, 25, 25, 15, 25]);
    expect(calmLoop(square, 0)).toBe(square);
  });

  it('writes as many places as asked for', () => {
    expect(point(1.26, -2.04, 1)).toBe('1 2');
    expect(point(1.257, -2.004, 100)).toBe('1.26 2');
    expect(smoothLoopPath(Float32Array.of(0.4, 0, 41, 0, 41, 41), 1)).toBe(
      'M21 -20Q0 0 21 0Q41 0 41 -20Q41 -41 21 -20Z',
    );
    expect(smoothLinePath([0.4, 0.6, 10.4, 10], 1)).toBe('M0 -1L10 -10');
    expect(smoothLinePath([0.4, 0, 10.4, 10, 20.6, 0.2, 31, 1], 1)).toBe('M0 0Q10 -10 16 -5Q21 0 31 -1');
  });

  it('turns in the middle between every two points but the last', () => {
    expect(smoothLinePath([0, 0, 10, 10, 20, 0, 30, 20, 40, 4])).toBe(
      'M0 0Q10 -10 15 -5Q20 0 25 -10Q30 -20 40 -4',
    );
  });

  it('writes an open line of a single point as that point', () => {
    expect(smoothLinePath([3, 4])).toBe('M3 -4');
  });
});
