import type { Head } from '../head/index.js';
import { type FallTable, pointAlong } from './fall.js';

/** Distance in mm between the points at which strands are looked at for drawing and for thickness. */
export const STRAND_STEP_MM = 6;
export const AZIMUTH_COLUMNS = 72;

/**
 * Every root's fall path at even steps as far as it lies on the head, with the outward normal there; beyond its last
 * point a strand hangs straight down.
 */
export interface StrandTable {
  readonly count: number;
  /** Root i's points are start[i] to start[i + 1] - 1. */
  readonly start: Int32Array;
  readonly position: Float32Array;
  readonly normal: Float32Array;
  /** Column of 5 degrees around the head at every point, 0 starting behind the client's left (az -180). */
  readonly column: Uint8Array;
  readonly areaMm2: Float64Array;
}

const known = new WeakMap<FallTable, StrandTable>();

/** The strand table of a head, built once per fall table and remembered with it. */
export function strandTableOf(head: Head, fall: FallTable): StrandTable {
  let table = known.get(fall);
  if (!table) {
    table = buildStrandTable(head, fall);
    known.set(fall, table);
  }
  return table;
}

/** Points in the middle of every step along every strand, root after root. */
export interface StrandSamples {
  /** Root i's samples are start[i] to start[i + 1] - 1. */
  readonly start: Int32Array;
  readonly x: Float32Array;
  readonly y: Float32Array;
  readonly z: Float32Array;
  /** How many mm of strand the sample stands for: a whole step, or what is left at the tip. */
  readonly mm: Float32Array;
  /** Index of the table's point at or before the sample; its normal and column are the sample's. */
  readonly at: Int32Array;
}

/** Samples every strand from root to tip; `lengthsMm` in mm, one per root, 0 or more. */
export function sampleStrands(table: StrandTable, lengthsMm: Float32Array): StrandSamples {
  const { count, start: first, position } = table;
  const start = new Int32Array(count + 1);
  for (let root = 0; root < count; root += 1) {
    start[root + 1] = start[root]! + Math.ceil(lengthsMm[root]! / STRAND_STEP_MM);
  }
  const samples = start[count]!;
  const x = new Float32Array(samples);
  const y = new Float32Array(samples);
  const z = new Float32Array(samples);
  const mm = new Float32Array(samples);
  const at = new Int32Array(samples);
  for (let root = 0; root < count; root += 1) {
    const last = first[root + 1]! - 1;
    const end = start[root + 1]!;
    let left = lengthsMm[root]!;
    let point = first[root]!;
    for (let k = start[root]!; k < end; k += 1, point += 1, left -= STRAND_STEP_MM) {
      const long = Math.min(left, STRAND_STEP_MM);
      mm[k] = long;
      if (point < last) {
        const p = 3 * point;
        const part = long / (2 * STRAND_STEP_MM);
        x[k] = position[p]! + part * (position[p + 3]! - position[p]!);
        y[k] = position[p + 1]! + part * (position[p + 4]! - position[p + 1]!);
        z[k] = position[p + 2]! + part * (position[p + 5]! - position[p + 2]!);
        at[k] = point;
      } else {
        const p = 3 * last;
        x[k] = position[p]!;
        y[k] = position[p + 1]!;
        z[k] = position[p + 2]! - (point - last) * STRAND_STEP_MM - long / 2;
        at[k] = last;
      }
    }
  }
  return { start, x, y, z, mm, at };
}

function buildStrandTable(head: Head, fall: FallTable): StrandTable {
  const start = new Int32Array(fall.count + 1);
  for (let root = 0; root < fall.count; root += 1) {
    start[root + 1] = start[root]! + Math.ceil(lyingMm(fall, root) / STRAND_STEP_MM - 1e-6) + 1;
  }
  const points = start[fall.count]!;
  const position = new Float32Array(3 * points);
  const normal = new Float32Array(3 * points);
  const column = new Uint8Array(points);
  const at = new Float64Array(3);
  const outward = new Float64Array(3);
  for (let root = 0; root < fall.count; root += 1) {
    const first = start[root]!;
    for (let k = first; k < start[root + 1]!; k += 1) {
      pointAlong(fall, root, (k - first) * STRAND_STEP_MM, at);
      position.set(at, 3 * k);
      outwardAt(head, at, outward);
      normal.set(outward, 3 * k);
      column[k] = columnAt(at[0]!, at[1]!);
    }
  }
  return { count: fall.count, start, position, normal, column, areaMm2: head.roots.areaMm2 };
}

/** Below the equator hair hangs clear of the head: outward is level there, or a lift would push tips down. */
function outwardAt(head: Head, at: Float64Array, out: Float64Array): void {
  head.surface.normal(at[0]!, at[1]!, at[2]!, out);
  if (out[2]! >= 0) return;
  const level = Math.hypot(out[0]!, out[1]!);
  out[0] = out[0]! / level;
  out[1] = out[1]! / level;
  out[2] = 0;
}

function columnAt(x: number, y: number): number {
  const turn = Math.atan2(x, y) / (2 * Math.PI) + 0.5;
  return Math.min(AZIMUTH_COLUMNS - 1, Math.floor(turn * AZIMUTH_COLUMNS));
}

/** Arc in mm from the root to where its path leaves the head. */
function lyingMm(fall: FallTable, root: number): number {
  return fall.arcMm[fall.start[root + 1]! - 1]!;
}
