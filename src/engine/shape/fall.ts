import { type Head, stepAlongFall, type Vec3 } from '../head/index.js';

/**
 * The line every strand falls along, from its root over the head to the equator; beyond the last point it hangs
 * straight down. Built once a head: growth only moves the tip along it.
 */
export interface FallTable {
  readonly count: number;
  /** Root i owns the points start[i] to start[i + 1] - 1; the first of them is the root. */
  readonly start: Uint32Array;
  /** x, y, z in mm, three numbers a point. */
  readonly points: Float32Array;
  /** Length in mm from the root to each point, along the line. */
  readonly arcMm: Float32Array;
  /** Length of every piece of a line but its last. */
  readonly stepMm: number;
}

/** A cutting line as a plane: z = z0Mm + forward * y + right * x (mm; slopes as rise over run). */
export interface CuttingPlane {
  readonly z0Mm: number;
  readonly forward: number;
  readonly right: number;
}

/** On the mean head, so that a scaled head has a scaled table. */
const STEP_MM = 3;
/** 420 mm on the mean head. No combed line is as long; should one be, it goes straight downhill from there. */
const COMBED_STEPS = 140;

/**
 * Marches every root downhill the way the hair is combed, in steps of 3 mm on the mean head, and clips the last
 * step at the equator; a root below the equator hangs straight down from where it is.
 */
export function buildFallTable(head: Pick<Head, 'surface' | 'roots' | 'comb'>): FallTable {
  const { surface, roots, comb } = head;
  const stepMm = STEP_MM * comb.scale;
  const start = new Uint32Array(roots.count + 1);
  let points = new Float32Array(roots.count * 96);
  const arcs: number[] = [];
  const at: Vec3 = new Float64Array(3);
  let used = 0;
  for (let i = 0; i < roots.count; i++) {
    start[i] = used;
    at[0] = roots.position[3 * i]!;
    at[1] = roots.position[3 * i + 1]!;
    at[2] = roots.position[3 * i + 2]!;
    let arc = 0;
    for (let step = 0; ; step++) {
      if (3 * used + 3 > points.length) {
        const longer = new Float32Array(points.length * 2);
        longer.set(points);
        points = longer;
      }
      points.set(at, 3 * used);
      arcs.push(arc);
      used++;
      if (at[2]! <= 0) break;
      const x = at[0]!;
      const y = at[1]!;
      const z = at[2]!;
      stepAlongFall(surface, comb, at, stepMm, step < COMBED_STEPS);
      if (at[2]! <= 0) {
        const part = z / (z - at[2]!);
        surface.project(x + part * (at[0]! - x), y + part * (at[1]! - y), 0, at);
      }
      arc += Math.hypot(at[0]! - x, at[1]! - y, at[2]! - z);
    }
  }
  start[roots.count] = used;
  return {
    count: roots.count,
    start,
    points: points.slice(0, 3 * used),
    arcMm: Float32Array.from(arcs),
    stepMm,
  };
}

/**
 * Writes the point `arcMm` (>= 0) along the strand of `root` to out[offset], out[offset + 1], out[offset + 2].
 * Nothing is allocated and nothing checked: this runs for every root of every drawing.
 */
export function pointAlong(
  table: FallTable,
  root: number,
  arcMm: number,
  out: Float64Array | Float32Array,
  offset = 0,
): void {
  const { points, arcMm: arcs } = table;
  const first = table.start[root]!;
  const last = table.start[root + 1]! - 1;
  const whole = arcs[last]!;
  if (arcMm >= whole) {
    out[offset] = points[3 * last]!;
    out[offset + 1] = points[3 * last + 1]!;
    out[offset + 2] = points[3 * last + 2]! - (arcMm - whole);
    return;
  }
  // Steps are all but even, so the guess is right or next door.
  let i = first + Math.floor(arcMm / table.stepMm);
  if (i >= last) i = last - 1;
  while (i > first && arcs[i]! > arcMm) i--;
  while (arcs[i + 1]! <= arcMm) i++;
  const a0 = arcs[i]!;
  const t = (arcMm - a0) / (arcs[i + 1]! - a0);
  const p = 3 * i;
  out[offset] = points[p]! + t * (points[p + 3]! - points[p]!);
  out[offset + 1] = points[p + 1]! + t * (points[p + 4]! - points[p + 1]!);
  out[offset + 2] = points[p + 2]! + t * (points[p + 5]! - points[p + 2]!);
}

/**
 * Length in mm at which the strand of `root` meets a cutting plane, measured along its fall line. Negative where
 * the root itself lies below the plane: by so many mm, upright.
 */
export function arcToPlane(table: FallTable, root: number, plane: CuttingPlane): number {
  const { points, arcMm } = table;
  const first = table.start[root]!;
  const end = table.start[root + 1]!;
  let before = 0;
  for (let i = first; i < end; i++) {
    const p = 3 * i;
    const above = points[p + 2]! - plane.z0Mm - plane.forward * points[p + 1]! - plane.right * points[p]!;
    if (above <= 0) {
      if (i === first) return above;
      return arcMm[i - 1]! + ((arcMm[i]! - arcMm[i - 1]!) * before) / (before - above);
    }
    before = above;
  }
  return arcMm[end - 1]! + before;
}
