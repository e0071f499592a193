import { describe, expect, it } from '@jest/globals';
import { contour, loopArea } from './contour.js';
import { createRaster, type Raster, soften, splat } from './raster.js';

const bounds = { uMinMm: -60, uMaxMm: 60, vMinMm: -60, vMaxMm: 60 };

function filled(cellMm: number, height: (u: number, v: number) => number): Raster {
  const raster = createRaster(bounds, cellMm);
  for (let j = 0; j < raster.rows; j += 1) {
    for (let i = 0; i < raster.columns; i += 1) {
      raster.value[j * raster.columns + i] = height(raster.uMm + i * cellMm, raster.vMm + j * cellMm);
    }
  }
  return raster;
}

describe('contour', () => {
  it('finds a circle: one anticlockwise loop of area pi r² (closed form)', () => {
    const loops = contour(
      filled(2, (u, v) => 40 - Math.hypot(u, v)),
      0,
    );
    expect(loops).toHaveLength(1);
    expect(loopArea(loops[0] as Float32Array)).toBeCloseTo(Math.PI * 1600, -1.5);
  });

  it('finds a hole as a clockwise loop', () => {
    const areas = contour(
      filled(2, (u, v) => 10 - Math.abs(Math.hypot(u, v) - 30)),
      0,
    ).map(loopArea);
    expect(areas).toHaveLength(2);
    expect(Math.max(...areas)).toBeCloseTo(Math.PI * 1600, -1.5);
    expect(Math.min(...areas)).toBeCloseTo(-Math.PI * 400, -1.5);
  });

  it('keeps two islands that touch at a corner apart', () => {
    const loops = contour(
      filled(5, (u, v) => (u * v > 0 && Math.max(Math.abs(u), Math.abs(v)) < 40 ? 1 : -1)),
      0,
    );
    expect(loops.filter((loop) => loopArea(loop) > 0)).toHaveLength(2);
  });

  it('finds nothing below the level', () => {
    expect(
      contour(
        filled(5, () => 0),
        1,
      ),
    ).toEqual([]);
  });
});

describe('raster', () => {
  it('shares a point between its four cells and loses none of it', () => {
    const raster = createRaster(bounds, 4);
    splat(raster, 1.3, -2.7, 5);
    splat(raster, 500, 0, 5);
    const sum = (values: Float32Array) => values.reduce((total, value) => total + value, 0);
    expect(sum(raster.value)).toBeCloseTo(5, 5);
    soften(raster, 3);
    expect(sum(raster.value)).toBeCloseTo(5, 5);
    expect(Math.max(...raster.value)).toBeLessThan(1.5);
  });
});
