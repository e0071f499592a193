import { requireNumber } from '../errors.js';
import { AZIMUTH_COLUMNS, type StrandSamples, type StrandTable } from './strands.js';

/** The hair itself. Defaults: 1.7 hairs/mm² (100,000 on 600 cm²) of 70 µm: both from memory, a middling head. */
export interface HairBody {
  /** Hairs per mm² of scalp, 0.2 to 4. */
  readonly perMm2: number;
  /** Diameter of a hair in µm, 20 to 150. */
  readonly diameterUm: number;
}

export const MIDDLING_HAIR: HairBody = { perMm2: 1.7, diameterUm: 70 };

/** Thickness of the layer of hair, in cells of 5 degrees around the head by 6 mm of height. */
export interface ThicknessGrid {
  readonly columns: number;
  readonly rows: number;
  /** Upper edge of row 0; rows count downwards. */
  readonly topMm: number;
  /** Thickness in mm, row by row; 0 where there is no hair. */
  readonly mm: Float32Array;
}

export const ROW_MM = 6;
/** Part of the volume of a head of hair that is hair and not air (design figure, uncalibrated). */
const PACKING = 0.08;
/** Hair that is there at all is drawn at least this thick. */
const FLOOR_MM = 1;
/** On top, where the cells of a row of height run together, no cell counts as smaller than this. */
const SMALLEST_CELL_MM2 = 20;
/** How often neighbouring cells are evened out: a layer of hair has no cliffs. */
const EVENINGS = 5;

/**
 * Thickness from the hair that passes through each cell: its length there × its cross-section, over the cell's surface,
 * at 8 % packing, at least 1 mm. Uncalibrated: good for a drawing and for comparing two shapes, not for a ruler.
 *
 * @throws EngineError NOT_A_NUMBER or OUT_OF_RANGE for a `body` that is no hair
 */
export function thicknessGrid(
  table: StrandTable,
  samples: StrandSamples,
  body: HairBody = MIDDLING_HAIR,
): ThicknessGrid {
  requireNumber(body.perMm2, 'perMm2', 0.2, 4);
  requireNumber(body.diameterUm, 'diameterUm', 20, 150);
  const { topMm, rows } = heightOf(samples.z);
  const volume = new Float32Array(rows * AZIMUTH_COLUMNS);
  const surface = new Float32Array(rows * AZIMUTH_COLUMNS);
  const perAreaMm2 = Math.PI * (body.diameterUm / 2000) ** 2 * body.perMm2;
  const { start, x, y, z, mm, at } = samples;
  const { areaMm2, normal, column } = table;
  for (let root = 0; root < table.count; root += 1) {
    const hairMm2 = areaMm2[root]! * perAreaMm2;
    const end = start[root + 1]!;
    for (let k = start[root]!; k < end; k += 1) {
      const point = at[k]!;
      const cell = (((topMm - z[k]!) / ROW_MM) | 0) * AZIMUTH_COLUMNS + column[point]!;
      volume[cell] = volume[cell]! + hairMm2 * mm[k]!;
      if (surface[cell] === 0) {
        const nx = normal[3 * point]!;
        const ny = normal[3 * point + 1]!;
        surface[cell] = cellSurface(Math.sqrt(x[k]! * x[k]! + y[k]! * y[k]!), Math.sqrt(nx * nx + ny * ny));
      }
    }
  }
  for (let cell = 0; cell < volume.length; cell += 1) {
    if (volume[cell]! > 0) volume[cell] = Math.max(FLOOR_MM, volume[cell]! / (PACKING * surface[cell]!));
  }
  return { columns: AZIMUTH_COLUMNS, rows, topMm, mm: evenOut(volume, surface, rows) };
}

/** Mean thickness of every row over the cells that have hair, from the top down: how the weight lies by height. */
export function thicknessByHeight(grid: ThicknessGrid): { zMm: number; thicknessMm: number }[] {
  return Array.from({ length: grid.rows }, (_, row) => {
    const cells = grid.mm.subarray(row * grid.columns, (row + 1) * grid.columns);
    const held = cells.reduce((count, mm) => (mm > 0 ? count + 1 : count), 0);
    const sum = cells.reduce((total, mm) => total + mm, 0);
    return { zMm: grid.topMm - (row + 0.5) * ROW_MM, thicknessMm: held > 0 ? sum / held : 0 };
  });
}

function cellSurface(radiusMm: number, slope: number): number {
  return Math.max(
    SMALLEST_CELL_MM2,
    ((2 * Math.PI * radiusMm) / AZIMUTH_COLUMNS) * (ROW_MM / Math.max(0.1, slope)),
  );
}

/** Half a row of margin, so that no sample falls out at the lowest edge. */
function heightOf(z: Float32Array): { topMm: number; rows: number } {
  if (z.length === 0) return { topMm: 0, rows: 1 };
  let top = -Infinity;
  let bottom = Infinity;
  for (let k = 0; k < z.length; k += 1) {
    if (z[k]! > top) top = z[k]!;
    if (z[k]! < bottom) bottom = z[k]!;
  }
  const topMm = top + ROW_MM / 2;
  return { topMm, rows: Math.ceil((topMm - bottom) / ROW_MM) + 1 };
}

/** Averages every cell that has hair with its neighbours that have some, around, above and below. */
function evenOut(thick: Float32Array, spare: Float32Array, rows: number): Float32Array {
  let from = thick;
  let to = spare;
  for (let pass = 0; pass < EVENINGS; pass += 1) {
    for (let row = 0; row < rows; row += 1) {
      const begin = row * AZIMUTH_COLUMNS;
      for (let column = 0; column < AZIMUTH_COLUMNS; column += 1) {
        const cell = begin + column;
        const own = from[cell]!;
        if (own === 0) {
          to[cell] = 0;
          continue;
        }
        const right = from[column === AZIMUTH_COLUMNS - 1 ? begin : cell + 1]!;
        const left = from[column === 0 ? begin + AZIMUTH_COLUMNS - 1 : cell - 1]!;
        const above = row === 0 ? 0 : from[cell - AZIMUTH_COLUMNS]!;
        const below = row === rows - 1 ? 0 : from[cell + AZIMUTH_COLUMNS]!;
        const held = 2 + (right > 0 ? 1 : 0) + (left > 0 ? 1 : 0) + (above > 0 ? 1 : 0) + (below > 0 ? 1 : 0);
        to[cell] = (2 * own + right + left + above + below) / held;
      }
    }
    [from, to] = [to, from];
  }
  return from;
}
