import { ZONES, type Zone } from '../zones.js';

export interface PlacedRoots {
  readonly count: number;
  /** x, y, z of every root in mm. */
  readonly position: ArrayLike<number>;
  readonly areaMm2: ArrayLike<number>;
  readonly zone: Uint8Array;
}

/** Two zones that touch, in the order of ZONES, and the roots of each that lie within reach of the other. */
export interface Border {
  readonly zones: readonly [Zone, Zone];
  readonly roots: readonly [Int32Array, Int32Array];
}

const known = new WeakMap<PlacedRoots, Border[]>();

/** Roots count as lying at a border when a root of the other zone is this near: two rows at 4,000 roots a head. */
const REACH_MM = 9;

/** All pairs of zones that touch. Found once per head and remembered with it. */
export function bordersOf(roots: PlacedRoots): readonly Border[] {
  let borders = known.get(roots);
  if (!borders) {
    borders = findBorders(roots);
    known.set(roots, borders);
  }
  return borders;
}

function findBorders(roots: PlacedRoots): Border[] {
  const cells = sortIntoCells(roots);
  const touching = new Map<number, [Set<number>, Set<number>]>();
  for (let i = 0; i < roots.count; i += 1) {
    for (const j of nearby(cells, roots, i)) {
      const a = roots.zone[i]!;
      const b = roots.zone[j]!;
      if (a >= b || distance(roots, i, j) > REACH_MM) continue;
      const key = a * ZONES.length + b;
      const pair = touching.get(key) ?? [new Set(), new Set()];
      touching.set(key, pair);
      pair[0].add(i);
      pair[1].add(j);
    }
  }
  return [...touching]
    .sort(([a], [b]) => a - b)
    .map(([key, [ofA, ofB]]) => ({
      zones: [ZONES[Math.floor(key / ZONES.length)] as Zone, ZONES[key % ZONES.length] as Zone],
      // Roots were gone through in order, and with each those near it.
      roots: [Int32Array.from(ofA), Int32Array.from(ofB).sort()],
    }));
}

function cellKey(roots: PlacedRoots, i: number, dx = 0, dy = 0, dz = 0): number {
  const at = (axis: number, d: number) => Math.floor(roots.position[3 * i + axis]! / REACH_MM) + d + 512;
  return (at(0, dx) * 1024 + at(1, dy)) * 1024 + at(2, dz);
}

function sortIntoCells(roots: PlacedRoots): Map<number, number[]> {
  const cells = new Map<number, number[]>();
  for (let i = 0; i < roots.count; i += 1) {
    const key = cellKey(roots, i);
    const cell = cells.get(key);
    if (cell) cell.push(i);
    else cells.set(key, [i]);
  }
  return cells;
}

function* nearby(cells: Map<number, number[]>, roots: PlacedRoots, i: number): Generator<number> {
  for (let dx = -1; dx <= 1; dx += 1) {
    for (let dy = -1; dy <= 1; dy += 1) {
      for (let dz = -1; dz <= 1; dz += 1) yield* cells.get(cellKey(roots, i, dx, dy, dz)) ?? [];
    }
  }
}

function distance(roots: PlacedRoots, i: number, j: number): number {
  const along = (axis: number) => roots.position[3 * i + axis]! - roots.position[3 * j + axis]!;
  return Math.hypot(along(0), along(1), along(2));
}
