import type { Raster } from './raster.js';

/** A closed line of points u0, v0, u1, v1 ... in mm, the last one joined to the first. */
export type Loop = Float32Array;

/** A crossing between two grid cells is named 2·cell for the side to the right, 2·cell + 1 for the side upwards. */
const NOWHERE = -1;

/**
 * The closed lines along which the grid crosses `level`, what lies above it on their left: outer edges run
 * anticlockwise, the edges of holes clockwise. The outermost cells must lie below the level.
 * Marching squares (Lorensen and Cline 1987 in two dimensions), crossings by linear interpolation; of the two ways
 * through a saddle the one that keeps the high corners apart.
 */
export function contour(raster: Raster, level: number): Loop[] {
  const { columns, rows } = raster;
  const next = linkCrossings(raster, level);
  const loops: Loop[] = [];
  for (let start = 0; start < 2 * columns * rows; start += 1) {
    if (next[start] === NOWHERE) continue;
    const points: number[] = [];
    let edge = start;
    while (next[edge] !== NOWHERE) {
      pushCrossing(raster, level, edge, points);
      const following = next[edge]!;
      next[edge] = NOWHERE;
      edge = following;
    }
    loops.push(Float32Array.from(points));
  }
  return loops;
}

/** Area in mm², positive for anticlockwise loops and negative for holes. */
export function loopArea(loop: Loop): number {
  let twice = 0;
  const last = loop.length - 2;
  for (let i = 0, from = last; i < loop.length; from = i, i += 2) {
    twice += loop[from]! * loop[i + 1]! - loop[i]! * loop[from + 1]!;
  }
  return twice / 2;
}

function linkCrossings(raster: Raster, level: number): Int32Array {
  const { columns, rows, value } = raster;
  const next = new Int32Array(2 * columns * rows).fill(NOWHERE);
  for (let j = 0; j < rows - 1; j += 1) {
    for (let i = 0; i < columns - 1; i += 1) {
      const at = j * columns + i;
      const kind =
        (value[at]! >= level ? 1 : 0) |
        (value[at + 1]! >= level ? 2 : 0) |
        (value[at + columns + 1]! >= level ? 4 : 0) |
        (value[at + columns]! >= level ? 8 : 0);
      if (kind === 0 || kind === 15) continue;
      const bottom = 2 * at;
      const left = 2 * at + 1;
      const right = 2 * (at + 1) + 1;
      const top = 2 * (at + columns);
      switch (kind) {
        case 1:
          next[bottom] = left;
          break;
        case 2:
          next[right] = bottom;
          break;
        case 3:
          next[right] = left;
          break;
        case 4:
          next[top] = right;
          break;
        case 5:
          next[bottom] = left;
          next[top] = right;
          break;
        case 6:
          next[top] = bottom;
          break;
        case 7:
          next[top] = left;
          break;
        case 8:
          next[left] = top;
          break;
        case 9:
          next[bottom] = top;
          break;
        case 10:
          next[right] = bottom;
          next[left] = top;
          break;
        case 11:
          next[right] = top;
          break;
        case 12:
          next[left] = right;
          break;
        case 13:
          next[bottom] = right;
          break;
        default:
          next[left] = bottom;
      }
    }
  }
  return next;
}

function pushCrossing(raster: Raster, level: number, edge: number, points: number[]): void {
  const { columns, cellMm, value } = raster;
  const at = edge >> 1;
  const upwards = (edge & 1) === 1;
  const here = value[at]!;
  const there = value[upwards ? at + columns : at + 1]!;
  const part = (level - here) / (there - here);
  const i = at % columns;
  const j = (at - i) / columns;
  points.push(
    raster.uMm + (i + (upwards ? 0 : part)) * cellMm,
    raster.vMm + (j + (upwards ? part : 0)) * cellMm,
  );
}
