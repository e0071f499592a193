/** A grid of square cells over a drawing, in mm: u to the viewer's right, v up. */
export interface Raster {
  readonly columns: number;
  readonly rows: number;
  readonly cellMm: number;
  /** Middle of the cell (0, 0). */
  readonly uMm: number;
  readonly vMm: number;
  readonly value: Float32Array;
}

export interface Bounds {
  readonly uMinMm: number;
  readonly uMaxMm: number;
  readonly vMinMm: number;
  readonly vMaxMm: number;
}

/**
 * An empty grid over `bounds` with a margin of three cells, so that no contour touches its edge. It is centred on the
 * bounds: what is mirrored is laid on a mirrored grid.
 */
export function createRaster(bounds: Bounds, cellMm: number): Raster {
  const margin = 3 * cellMm;
  const columns = Math.ceil((bounds.uMaxMm - bounds.uMinMm + 2 * margin) / cellMm) + 1;
  const rows = Math.ceil((bounds.vMaxMm - bounds.vMinMm + 2 * margin) / cellMm) + 1;
  return {
    columns,
    rows,
    cellMm,
    uMm: (bounds.uMinMm + bounds.uMaxMm - (columns - 1) * cellMm) / 2,
    vMm: (bounds.vMinMm + bounds.vMaxMm - (rows - 1) * cellMm) / 2,
    value: new Float32Array(columns * rows),
  };
}

/** Adds `amount` at a point, shared between the four nearest cells by nearness. Outside the grid it is lost. */
export function splat(raster: Raster, uMm: number, vMm: number, amount: number): void {
  const { columns, rows, cellMm, value } = raster;
  const u = (uMm - raster.uMm) / cellMm;
  const v = (vMm - raster.vMm) / cellMm;
  const i = Math.floor(u);
  const j = Math.floor(v);
  if (i < 0 || j < 0 || i >= columns - 1 || j >= rows - 1) return;
  const fu = u - i;
  const fv = v - j;
  const at = j * columns + i;
  value[at] = value[at]! + amount * (1 - fu) * (1 - fv);
  value[at + 1] = value[at + 1]! + amount * fu * (1 - fv);
  value[at + columns] = value[at + columns]! + amount * (1 - fu) * fv;
  value[at + columns + 1] = value[at + columns + 1]! + amount * fu * fv;
}

/** Softens the grid in place with a 1-2-1 kernel in both directions, `passes` times. The outermost cells become 0. */
export function soften(raster: Raster, passes: number): void {
  const { columns, rows, value } = raster;
  const line = new Float32Array(Math.max(columns, rows));
  for (let pass = 0; pass < passes; pass += 1) {
    for (let j = 0; j < rows; j += 1) softenLine(value, j * columns, 1, columns, line);
    for (let i = 0; i < columns; i += 1) softenLine(value, i, columns, rows, line);
  }
}

function softenLine(
  value: Float32Array,
  start: number,
  stride: number,
  count: number,
  line: Float32Array,
): void {
  for (let k = 0; k < count; k += 1) line[k] = value[start + k * stride]!;
  value[start] = 0;
  value[start + (count - 1) * stride] = 0;
  for (let k = 1; k < count - 1; k += 1) {
    value[start + k * stride] = 0.25 * line[k - 1]! + 0.5 * line[k]! + 0.25 * line[k + 1]!;
  }
}
