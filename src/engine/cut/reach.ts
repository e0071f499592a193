import { fallDirection, type Head, type Surface, stepAlongFall, type Vec3 } from '../head/index.js';
import { guideLineZ } from './guide-line.js';
import type { Neighbours } from './neighbours.js';

/**
 * The way from every root along its fall line, cut into runs of one zone each. Below the equator the line follows
 * the head, so that lengths can be integrated there too; the part of a run where the surface dips under the
 * vertical is kept as four Gauss-Legendre nodes.
 */
export interface Runs {
  /** Root i owns the runs start[i] to start[i + 1] - 1, the first of them in its own zone. */
  readonly start: Uint32Array;
  readonly zone: Uint8Array;
  /** Whole length of the run, mm. */
  readonly arcMm: Float64Array;
  /** The part of it where the surface does not dip. */
  readonly straightMm: Float64Array;
  /** Four dips (radians) and four weights (mm) a run. */
  readonly dips: Float64Array;
  /** 1 where any of the weights is not 0. */
  readonly dipped: Uint8Array;
  /** How far round from the midline of the back the run ends, mm along the equator. */
  readonly exitSideMm: Float64Array;
  readonly exitDip: Float64Array;
  /** The three roots of the next zone closest to the end of the run (-1: there is no next zone) ... */
  readonly nearest: Int32Array;
  /** ... their shares ... */
  readonly share: Float64Array;
  /** ... and how much further along they stand on average, mm. */
  readonly onwardMm: Float64Array;
}

// Four-point Gauss-Legendre on (0, 1), from Abramowitz and Stegun 1964, table 25.4.
const NODES = [0.069431844202974, 0.330009478207572, 0.669990521792428, 0.930568155797026];
const WEIGHTS = [0.173927422568727, 0.326072577431273, 0.326072577431273, 0.173927422568727];
const STEP_MM = 3;
const COMBED_STEPS = 140;
const MOST_STEPS = 400;

const normal: Vec3 = new Float64Array(3);
const way: Vec3 = new Float64Array(3);
const heading: Vec3 = new Float64Array(3);

/** Runs from every root down to the guide line (`sign` 1) or up to the whorl, the parting or the front (-1). */
export function runsOf(head: Head, neighbours: Neighbours, sign: 1 | -1): Runs {
  const { surface, roots, comb } = head;
  const stepMm = STEP_MM * comb.scale * sign;
  const start = new Uint32Array(roots.count + 1);
  const zones: number[] = [];
  const arcs: number[] = [];
  const straight: number[] = [];
  const dips: number[] = [];
  const exitSide: number[] = [];
  const exitDip: number[] = [];
  const nearest: number[] = [];
  const share: number[] = [];
  const onward: number[] = [];
  const at: Vec3 = new Float64Array(3);
  const from: Vec3 = new Float64Array(3);
  const border: Vec3 = new Float64Array(3);
  // Of the run being walked: its length, its straight part, and samples of the dip along the rest.
  let arc = 0;
  let flat = 0;
  let sampleArc: number[] = [];
  let sampleDip: number[] = [];

  const walk = (ax: number, ay: number, az: number, bx: number, by: number, bz: number): void => {
    const mm = Math.hypot(bx - ax, by - ay, bz - az);
    // The dip jumps where the neck leaves the skull: halve the piece until the edge no longer matters.
    if (mm > 0.1 && dipAt(head, ax, ay, az) > 0 !== dipAt(head, bx, by, bz) > 0) {
      const mx = (ax + bx) / 2;
      const my = (ay + by) / 2;
      const mz = (az + bz) / 2;
      walk(ax, ay, az, mx, my, mz);
      walk(mx, my, mz, bx, by, bz);
      return;
    }
    const dip = dipAt(head, (ax + bx) / 2, (ay + by) / 2, (az + bz) / 2);
    arc += mm;
    if (dip <= 0) flat += mm;
    else {
      sampleArc.push(mm);
      sampleDip.push(dip);
    }
  };
  const close = (zone: number, end: Vec3, next: number): void => {
    zones.push(zone);
    arcs.push(arc);
    straight.push(flat);
    dips.push(...gauss(sampleArc, sampleDip));
    exitSide.push(neighbours.sideMmAt(end[0]!, end[1]!));
    exitDip.push(Math.max(0, dipAt(head, end[0]!, end[1]!, end[2]!)));
    if (next < 0) {
      nearest.push(-1, -1, -1);
      share.push(0, 0, 0);
      onward.push(0);
    } else {
      fallDirection(surface, comb, end[0]!, end[1]!, end[2]!, way);
      const found = neighbours.closest(end, next);
      let ahead = 0;
      for (let k = 0; k < 3; k++) {
        const j = found.roots[k]!;
        nearest.push(j);
        share.push(found.share[k]!);
        for (let axis = 0; axis < 3; axis++) {
          ahead += sign * found.share[k]! * way[axis]! * (roots.position[3 * j + axis]! - end[axis]!);
        }
      }
      onward.push(ahead);
    }
    arc = 0;
    flat = 0;
    sampleArc = [];
    sampleDip = [];
  };
  const kindAt = (p: Vec3): number =>
    p[2]! < guideLineZ((Math.atan2(p[0]!, p[1]!) * 180) / Math.PI) * head.scale
      ? -1
      : head.zoneIndexAt(p[0]!, p[1]!, p[2]!);

  for (let i = 0; i < roots.count; i++) {
    start[i] = zones.length;
    at.set(roots.position.subarray(3 * i, 3 * i + 3));
    let zone = roots.zone[i]!;
    for (let step = 0; zone >= 0; step++) {
      from.set(at);
      const combed = step < COMBED_STEPS;
      stepAlongFall(surface, comb, at, stepMm, combed);
      const ends = (sign < 0 && backToParting(head, from, stepMm, combed, at)) || step === MOST_STEPS - 1;
      const next = kindAt(at);
      if (next === zone) walk(from[0]!, from[1]!, from[2]!, at[0]!, at[1]!, at[2]!);
      else {
        const dx = at[0]! - from[0]!;
        const dy = at[1]! - from[1]!;
        const dz = at[2]! - from[2]!;
        let inside = 0;
        let outside = 1;
        for (let k = 0; k < 7; k++) {
          const t = (inside + outside) / 2;
          surface.project(from[0]! + t * dx, from[1]! + t * dy, from[2]! + t * dz, border);
          if (kindAt(border) === zone) inside = t;
          else outside = t;
        }
        surface.project(from[0]! + outside * dx, from[1]! + outside * dy, from[2]! + outside * dz, border);
        walk(from[0]!, from[1]!, from[2]!, border[0]!, border[1]!, border[2]!);
        close(zone, border, next);
        if (next >= 0) walk(border[0]!, border[1]!, border[2]!, at[0]!, at[1]!, at[2]!);
        zone = next;
      }
      if (ends && zone >= 0) {
        close(zone, at, -1);
        break;
      }
    }
  }
  start[roots.count] = zones.length;
  const dipArray = Float64Array.from(dips);
  return {
    start,
    zone: Uint8Array.from(zones),
    arcMm: Float64Array.from(arcs),
    straightMm: Float64Array.from(straight),
    dips: dipArray,
    dipped: Uint8Array.from(zones, (_, run) => (dipArray[8 * run + 4]! > 0 ? 1 : 0)),
    exitSideMm: Float64Array.from(exitSide),
    exitDip: Float64Array.from(exitDip),
    nearest: Int32Array.from(nearest),
    share: Float64Array.from(share),
    onwardMm: Float64Array.from(onward),
  };
}

/**
 * True where the way against the fall ends in the step that led from `from` to `at`, because strands part there; then
 * `at` is moved back to the parting, which is found to 1/128 of the step.
 */
function backToParting(head: Head, from: Vec3, stepMm: number, combed: boolean, at: Vec3): boolean {
  const { surface, comb } = head;
  fallDirection(surface, comb, at[0]!, at[1]!, at[2]!, way, combed);
  const along = way[0]! * (at[0]! - from[0]!) + way[1]! * (at[1]! - from[1]!) + way[2]! * (at[2]! - from[2]!);
  // Hair falls the way the step led: it has passed the parting, or, having it under its middle, has turned round.
  if (along <= 0) return false;
  fallDirection(surface, comb, from[0]!, from[1]!, from[2]!, heading, combed);
  let before = 0;
  let beyond = 1;
  for (let k = 0; k < 7; k++) {
    const t = (before + beyond) / 2;
    towards(surface, from, t * stepMm, at);
    fallDirection(surface, comb, at[0]!, at[1]!, at[2]!, way, combed);
    if (way[0]! * heading[0]! + way[1]! * heading[1]! + way[2]! * heading[2]! > 0) before = t;
    else beyond = t;
  }
  towards(surface, from, before * stepMm, at);
  return true;
}

/** Writes the surface point `mm` from `from` along `heading`. */
function towards(surface: Surface, from: Vec3, mm: number, out: Vec3): void {
  surface.project(from[0]! + mm * heading[0]!, from[1]! + mm * heading[1]!, from[2]! + mm * heading[2]!, out);
}

/** Radians by which the surface normal dips below the horizontal; 0 on the neck, negative above the equator. */
function dipAt(head: Head, x: number, y: number, z: number): number {
  if (z >= 0) return -1;
  head.surface.normal(x, y, z, normal);
  return -Math.asin(Math.max(-1, Math.min(1, normal[2]!)));
}

/** Dips and weights at the four nodes of a run given by pieces of `mm` with one dip each. */
function gauss(mm: readonly number[], dip: readonly number[]): number[] {
  const whole = mm.reduce((sum, piece) => sum + piece, 0);
  if (whole === 0) return [0, 0, 0, 0, 0, 0, 0, 0];
  const out: number[] = [];
  let piece = 0;
  let before = 0;
  for (const node of NODES) {
    const target = node * whole;
    while (piece < mm.length - 1 && before + mm[piece]! < target) {
      before += mm[piece]!;
      piece++;
    }
    // Linear between the middles of the pieces.
    const offset = target - before - mm[piece]! / 2;
    const other = offset < 0 ? piece - 1 : piece + 1;
    const known = dip[other];
    out.push(
      known === undefined
        ? dip[piece]!
        : dip[piece]! + ((known - dip[piece]!) * 2 * Math.abs(offset)) / (mm[piece]! + mm[other]!),
    );
  }
  for (const weight of WEIGHTS) out.push(weight * whole);
  return out;
}
