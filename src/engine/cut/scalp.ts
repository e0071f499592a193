import type { Head } from '../head/index.js';
import { ZONES, type Zone } from '../zones.js';
import { type Neighbours, neighboursOf } from './neighbours.js';
import { type Runs, runsOf } from './reach.js';

/** What the cut needs to know of a head beyond its roots. Costs some 0.3 s, once a head. */
export interface Scalp {
  readonly head: Head;
  readonly neighbours: Neighbours;
  readonly down: Runs;
  readonly up: Runs;
}

// Held as long as the head itself and no longer.
const known = new WeakMap<Head, Scalp>();

export function scalpOf(head: Head): Scalp {
  let scalp = known.get(head);
  if (scalp === undefined) {
    const neighbours = neighboursOf(head);
    let up: Runs | undefined;
    scalp = {
      head,
      neighbours,
      down: runsOf(head, neighbours, 1),
      // Few formulas look upwards.
      get up() {
        up ??= runsOf(head, neighbours, -1);
        return up;
      },
    };
    known.set(head, scalp);
  }
  return scalp;
}

/** Where a zone's guide lies: at its lower or upper edge, or where its hair is shortest. */
export type GuidePlace = 'below' | 'above' | 'shortest';

const STRIP_MM = 15;
const BESIDE_MM = 30;

/** Distance in mm from a root to the edge of its zone where the guide lies; 0 for the shortest hair. */
export function edgeMm(scalp: Scalp, place: GuidePlace, root: number): number {
  const runs = place === 'above' ? scalp.up : scalp.down;
  return runs.arcMm[runs.start[root]!]!;
}

/** True where a root stands close enough to its zone's guide to be taken for it. */
export function isAtGuide(scalp: Scalp, place: GuidePlace, root: number): boolean {
  return place !== 'shortest' && edgeMm(scalp, place, root) <= STRIP_MM * scalp.head.scale;
}

/**
 * Length in mm at a zone's guide: the straight line through the lengths within 15 mm of its edge, read at the edge
 * (weighted by area), or its shortest hair. With `beside`, only the part of the guide within 30 mm of those zones counts,
 * if there is any.
 */
export function guideLengthMm(
  scalp: Scalp,
  place: GuidePlace,
  zone: Zone,
  lengthMm: Float64Array,
  beside?: readonly Zone[],
): number {
  const roots = scalp.neighbours.ofZone[ZONES.indexOf(zone)]!;
  const area = scalp.head.roots.areaMm2;
  let shortest = Number.POSITIVE_INFINITY;
  let w = 0;
  let ws = 0;
  let wl = 0;
  let wss = 0;
  let wsl = 0;
  for (const i of roots) {
    const length = lengthMm[i]!;
    if (length < shortest) shortest = length;
    if (!isAtGuide(scalp, place, i)) continue;
    if (beside !== undefined && !isBeside(scalp, i, beside)) continue;
    const s = edgeMm(scalp, place, i);
    w += area[i]!;
    ws += area[i]! * s;
    wl += area[i]! * length;
    wss += area[i]! * s * s;
    wsl += area[i]! * s * length;
  }
  if (w === 0 && beside !== undefined) return guideLengthMm(scalp, place, zone, lengthMm);
  if (w === 0) return Number.isFinite(shortest) ? shortest : 0;
  const spread = w * wss - ws * ws;
  const slope = spread > 1e-9 * w * w ? (w * wsl - ws * wl) / spread : 0;
  return Math.max(0, (wl - slope * ws) / w);
}

function isBeside(scalp: Scalp, root: number, zones: readonly Zone[]): boolean {
  const { distanceMm } = scalp.neighbours;
  return zones.some(
    (zone) => distanceMm[root * ZONES.length + ZONES.indexOf(zone)]! <= BESIDE_MM * scalp.head.scale,
  );
}
