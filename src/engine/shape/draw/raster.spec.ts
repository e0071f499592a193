import { describe, expect, it } from '@jest/globals';
import { createRaster, type Raster, soften, splat } from './raster.js';

const rowsOf = ({ value, columns, rows }: Raster) =>
  Array.from({ length: rows }, (_, j) => [...value.subarray(j * columns, (j + 1) * columns)]);

describe('createRaster', () => {
  it('has three cells of margin on every side and is centred on the bounds', () => {
    // (120 + 24) / 4 = 36 steps across, from -72 to 72.
    const even = createRaster({ uMinMm: -60, uMaxMm: 60, vMinMm: -60, vMaxMm: 60 }, 4);
    expect(even).toMatchObject({ columns: 37, rows: 37, cellMm: 4, uMm: -72, vMm: -72 });
    // Across (40 + 24) / 4 = 16 steps, 64 mm about 10; up (7 + 24) / 4, rounded up to 8 steps, 32 mm about -1.5.
    const odd = createRaster({ uMinMm: -10, uMaxMm: 30, vMinMm: -5, vMaxMm: 2 }, 4);
    expect(odd).toMatchObject({ columns: 17, rows: 9, uMm: -22, vMm: -17.5 });
    expect(odd.value).toEqual(new Float32Array(17 * 9));
  });
});

/** Cells of 2 mm from (-6, -6): 7 columns to 6 and 9 rows to 10. */
const small = () => createRaster({ uMinMm: 0, uMaxMm: 0, vMinMm: 0, vMaxMm: 4 }, 2);

describe('splat', () => {
  it('shares by nearness among the four cells around: (1 - fu)(1 - fv) and so on', () => {
    const raster = small();
    splat(raster, 0.5, 1, 8);
    // A quarter of the way from column 3 to 4, half from row 3 to 4.
    expect(raster.value[3 * 7 + 3]).toBe(8 * 0.75 * 0.5);
    expect(raster.value[3 * 7 + 4]).toBe(8 * 0.25 * 0.5);
    expect(raster.value[4 * 7 + 3]).toBe(8 * 0.75 * 0.5);
    expect(raster.value[4 * 7 + 4]).toBe(8 * 0.25 * 0.5);
    splat(raster, -0.5, 0.5, 16);
    // Three quarters from column 2 to 3, a quarter from row 3 to 4; what was there stays.
    expect(raster.value[3 * 7 + 2]).toBe(16 * 0.25 * 0.75);
    expect(raster.value[3 * 7 + 3]).toBe(3 + 16 * 0.75 * 0.75);
    expect(raster.value[4 * 7 + 2]).toBe(16 * 0.25 * 0.25);
    expect(raster.value[4 * 7 + 3]).toBe(3 + 16 * 0.75 * 0.25);
  });

  it.each([
    { u: -6, v: -6, kept: true },
    { u: 5.9, v: 9.9, kept: true },
    { u: -6.1, v: 0, kept: false },
    { u: 0, v: -6.1, kept: false },
    { u: 6, v: 0, kept: false },
    { u: 0, v: 10, kept: false },
  ])('loses what falls outside the grid: $u, $v', ({ u, v, kept }) => {
    const raster = small();
    splat(raster, u, v, 1);
    expect(raster.value.reduce((sum, value) => sum + value, 0)).toBeCloseTo(kept ? 1 : 0, 6);
  });
});

describe('soften', () => {
  it('spreads a cell by 1-2-1 both ways: sixteenths of 1 2 1, 2 4 2, 1 2 1', () => {
    const raster = small();
    raster.value[4 * 7 + 3] = 16;
    soften(raster, 1);
    const none = [0, 0, 0, 0, 0, 0, 0];
    const side = [0, 0, 1, 2, 1, 0, 0];
    expect(rowsOf(raster)).toEqual([none, none, none, side, [0, 0, 2, 4, 2, 0, 0], side, none, none, none]);
  });

  it('twice is 1-4-6-4-1 both ways, wider than high or higher than wide', () => {
    for (const bounds of [
      { uMinMm: 0, uMaxMm: 0, vMinMm: 0, vMaxMm: 4 },
      { uMinMm: 0, uMaxMm: 4, vMinMm: 0, vMaxMm: 0 },
    ]) {
      const raster = createRaster(bounds, 2);
      const { columns, rows } = raster;
      const [i, j] = [(columns - 1) / 2, (rows - 1) / 2];
      raster.value[j * columns + i] = 256;
      soften(raster, 2);
      const binomial = [1, 4, 6, 4, 1];
      for (let dj = -2; dj <= 2; dj += 1) {
        expect([...raster.value.subarray((j + dj) * columns + i - 2, (j + dj) * columns + i + 3)]).toEqual(
          binomial.map((part) => part * binomial[dj + 2]!),
        );
      }
      expect(raster.value.reduce((sum, value) => sum + value, 0)).toBe(256);
    }
  });

  it('empties the outermost cells and keeps what is even within', () => {
    const raster = small();
    raster.value.fill(1);
    soften(raster, 1);
    expect(rowsOf(raster)).toEqual(
      Array.from({ length: 9 }, (_, j) =>
        Array.from({ length: 7 }, (_, i) => (i > 0 && i < 6 && j > 0 && j < 8 ? 1 : 0)),
      ),
    );
  });

  it('does nothing in no pass', () => {
    const raster = small();
    raster.value.fill(1);
    soften(raster, 0);
    expect(raster.value).toEqual(new Float32Array(63).fill(1));
  });
});
