import { describe, expect, it } from '@jest/globals';
import { liftSamples } from './lift.js';
import type { StrandSamples, StrandTable } from './strands.js';

/** Design: alpha = 15° + 50° / (1 + (L/25)²); offset = 25 sin alpha (1 - e^(-t/25)) e^(-L/120). */
function offset(alongMm: number, lengthMm: number): number {
  const alpha = ((15 + 50 / (1 + (lengthMm / 25) ** 2)) * Math.PI) / 180;
  return 25 * Math.sin(alpha) * (1 - Math.exp(-alongMm / 25)) * Math.exp(-lengthMm / 120);
}

/** Two points on the head, the first facing right, the second forward and up. */
const table: StrandTable = {
  count: 2,
  start: Int32Array.of(0, 1, 3),
  position: new Float32Array(9),
  normal: Float32Array.of(0, 1, 0, 1, 0, 0, 0, 0.6, 0.8),
  column: Uint8Array.of(0, 1, 2),
  areaMm2: Float64Array.of(1, 1),
};

/**
 * A root with one sample and one of so many mm whose samples stand 1 mm under each other from z = 5.5 on: what becomes of
 * the second's.
 */
function lifted(lengthMm: number, layerMm: readonly number[]) {
  const count = Math.ceil(lengthMm / 6);
  const samples: StrandSamples = {
    start: Int32Array.of(0, 1, count + 1),
    x: new Float32Array(count + 1).fill(10),
    y: new Float32Array(count + 1).fill(20),
    z: Float32Array.from({ length: count + 1 }, (_, k) => (k === 0 ? 5.5 : 6.5 - k)),
    mm: new Float32Array(count + 1).fill(6),
    at: Int32Array.from({ length: count + 1 }, (_, k) => Math.min(k, 2)),
  };
  const rows = layerMm.length / 3;
  liftSamples(table, samples, Float32Array.of(6, lengthMm), {
    columns: 3,
    rows,
    topMm: 6,
    mm: Float32Array.from(layerMm),
  });
  return { x: samples.x.subarray(1), y: samples.y.subarray(1), z: samples.z.subarray(1) };
}

describe('liftSamples', () => {
  it('moves outward by the stand-off at its place and by the layer beneath', () => {
    const { x, y, z } = lifted(30, [0, 2, 3]);
    // On the first point, facing right, at the root: nothing but the layer of its column.
    expect(x[0]).toBeCloseTo(12, 5);
    expect([y[0], z[0]]).toEqual([20, 5.5]);
    // On the second 6 mm along, still on the head: the whole layer.
    const lift = offset(6, 30) + 3;
    expect(x[1]).toBe(10);
    expect(y[1]).toBeCloseTo(20 + 0.6 * lift, 4);
    expect(z[1]).toBeCloseTo(4.5 + 0.8 * lift, 4);
  });

  it('sinks from the top of the layer to its middle over 80 mm of free fall', () => {
    const { y } = lifted(150, Array<number>(15).fill(4));
    const expected = (k: number, part: number) => 20 + 0.6 * (offset(6 * k, 150) + 4 * part);
    // The second sample is the last that lies on the head: the fourth hangs free for 12 mm, of 80.
    expect(y[1]).toBeCloseTo(expected(1, 1), 4);
    expect(y[3]).toBeCloseTo(expected(3, 1 - 0.5 * (12 / 80)), 4);
    expect(y[14]).toBeCloseTo(expected(14, 1 - 0.5 * (78 / 80)), 4);
    expect(y[15]).toBeCloseTo(expected(15, 0.5), 4);
    expect(y[24]).toBeCloseTo(expected(24, 0.5), 4);
  });

  it('reads the layer in the row of its height, 6 mm each from the top', () => {
    const rows = [0, 0, 1, 0, 0, 2, 0, 0, 4];
    const { y } = lifted(60, rows);
    const lift = (k: number) => (y[k]! - 20) / 0.6;
    const part = (k: number) => 1 - (0.5 * 6 * (k - 1)) / 80;
    // 6 down to 0 are the first row: samples 1 to 5; from -0.5 on the second.
    expect(lift(5)).toBeCloseTo(offset(30, 60) + 1 * part(5), 4);
    expect(lift(6)).toBeCloseTo(offset(36, 60) + 2 * part(6), 4);
  });

  it('stands off as far as ever beyond 354 mm along the strand', () => {
    const { y } = lifted(480, Array<number>(45).fill(0));
    expect(y[79]).toBeCloseTo(20 + 0.6 * offset(474, 480), 4);
  });
});
