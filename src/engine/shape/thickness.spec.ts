import { describe, expect, it } from '@jest/globals';
import { buildHead } from '../head/index.js';
import { buildFallTable } from './fall.js';
import { sampleStrands, strandTableOf } from './strands.js';
import { MIDDLING_HAIR, thicknessByHeight, thicknessGrid } from './thickness.js';

const head = buildHead();
const fall = buildFallTable(head);
const table = strandTableOf(head, fall);
const gridOf = (lengthMm: number, body = MIDDLING_HAIR) =>
  thicknessGrid(table, sampleStrands(table, new Float32Array(table.count).fill(lengthMm)), body);
const thickest = (lengthMm: number, body = MIDDLING_HAIR) => Math.max(...gridOf(lengthMm, body).mm);

describe('sampleStrands', () => {
  it('loses no hair: the steps add up to the lengths', () => {
    const lengths = Float32Array.from({ length: table.count }, (_, i) => (i * 7) % 131);
    const { mm } = sampleStrands(table, lengths);
    const sum = (values: Float32Array) => values.reduce((total, value) => total + value, 0);
    expect(sum(mm)).toBeCloseTo(sum(lengths), 0);
  });

  it('builds the table once per fall table', () => {
    expect(strandTableOf(head, fall)).toBe(table);
  });
});

describe('thicknessGrid', () => {
  it('is one layer thick at the equator: hair above × its cross-section ÷ 8 % (closed form, within 15 %)', () => {
    // Hair from the whole upper half hangs through the ring z = -10, when it is long enough to pass and the lower
    // scalp adds little: area of the half ellipsoid × hairs/mm² × cross-section ÷ (circumference × 0.08).
    const upper = head.roots.areaMm2.reduce(
      (sum, area, i) => (head.roots.position[3 * i + 2]! > -7 ? sum + area : sum),
      0,
    );
    const perMm2 = MIDDLING_HAIR.perMm2 * Math.PI * 0.035 ** 2;
    const expected = (upper * perMm2) / (536 * 0.08);
    const ring = thicknessByHeight(gridOf(400)).find(({ zMm }) => zMm < -7 && zMm > -14);
    expect(ring!.thicknessMm / expected).toBeGreaterThan(0.85);
    expect(ring!.thicknessMm / expected).toBeLessThan(1.15);
  });

  it('grows with length, density and diameter', () => {
    expect(thickest(120)).toBeGreaterThan(thickest(40));
    expect(thickest(120, { perMm2: 3, diameterUm: 70 })).toBeGreaterThan(thickest(120));
    expect(thickest(120, { perMm2: 1.7, diameterUm: 100 })).toBeGreaterThan(thickest(120));
  });

  it('is never thinner than 1 mm where there is hair', () => {
    const { mm } = gridOf(2);
    expect(Math.min(...mm.filter((thick) => thick > 0))).toBeCloseTo(1, 5);
  });

  it('is empty on a bald head', () => {
    expect(thickest(0)).toBe(0);
  });

  it('refuses hair that is none', () => {
    expect(() => gridOf(10, { perMm2: 0, diameterUm: 70 })).toThrow(
      expect.objectContaining({ field: 'perMm2' }),
    );
    expect(() => gridOf(10, { perMm2: 2, diameterUm: Number.NaN })).toThrow(
      expect.objectContaining({ field: 'diameterUm' }),
    );
  });
});
