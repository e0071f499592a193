import { ellipseArc, type Head, type Vec3 } from '../head/index.js';
import { ZONES } from '../zones.js';

/** Which roots stand close to which, by zone. */
export interface Neighbours {
  /** The roots of each zone. */
  readonly ofZone: readonly Uint32Array[];
  /** Nearest root of each zone to each root: index root * ZONES.length + zone; -1 further off than `BORDER_MM`. */
  readonly nearest: Int32Array;
  readonly distanceMm: Float64Array;
  /** Mean distance from root to root, mm. */
  readonly spacingMm: number;
  /** How far round from the midline of the back each root stands, mm along the equator. */
  readonly sideMm: Float64Array;
  sideMmAt(x: number, y: number): number;
  /** Three roots of a zone closest to a point, with shares by inverse squared distance. */
  closest(point: Vec3, zone: number): { roots: readonly number[]; share: readonly number[] };
}

/** The widest blend, on the mean head. */
export const BORDER_MM = 45;
const SIDE_STEPS = 360;

export function neighboursOf(head: Head): Neighbours {
  const { roots, scale, surface } = head;
  const p = roots.position;
  const ofZone = ZONES.map((_, zone) =>
    Uint32Array.from({ length: roots.count }, (_unused, i) => i).filter((i) => roots.zone[i] === zone),
  );
  const reach = (BORDER_MM * scale) ** 2;
  const nearest = new Int32Array(roots.count * ZONES.length).fill(-1);
  const distanceMm = new Float64Array(roots.count * ZONES.length).fill(Number.POSITIVE_INFINITY);
  for (let i = 0; i < roots.count; i++) {
    for (let zone = 0; zone < ZONES.length; zone++) {
      if (zone === roots.zone[i]) continue;
      let best = reach;
      let found = -1;
      for (const j of ofZone[zone]!) {
        const dz = p[3 * j + 2]! - p[3 * i + 2]!;
        if (dz * dz >= best) continue;
        const dx = p[3 * j]! - p[3 * i]!;
        const dy = p[3 * j + 1]! - p[3 * i + 1]!;
        const d = dx * dx + dy * dy + dz * dz;
        if (d < best) {
          best = d;
          found = j;
        }
      }
      if (found < 0) continue;
      nearest[i * ZONES.length + zone] = found;
      distanceMm[i * ZONES.length + zone] = Math.sqrt(best);
    }
  }
  const side = sideTable(surface.radiiMm.x, surface.radiiMm.y);
  const sideMmAt = (x: number, y: number): number => {
    const at = ((Math.PI - Math.abs(Math.atan2(x, y))) / Math.PI) * SIDE_STEPS;
    const i = Math.min(SIDE_STEPS - 1, Math.floor(at));
    return side[i]! + (at - i) * (side[i + 1]! - side[i]!);
  };
  const area = roots.areaMm2.reduce((sum, mm2) => sum + mm2, 0);
  return {
    ofZone,
    nearest,
    distanceMm,
    spacingMm: Math.sqrt(area / roots.count),
    sideMm: Float64Array.from({ length: roots.count }, (_, i) => sideMmAt(p[3 * i]!, p[3 * i + 1]!)),
    sideMmAt,
    closest: (point, zone) => closestThree(p, ofZone[zone]!, point),
  };
}

/** Equatorial arc (mm) from the back midline at even steps of az. */
function sideTable(a: number, b: number): Float64Array {
  const table = new Float64Array(SIDE_STEPS + 1);
  for (let i = 1; i <= SIDE_STEPS; i++) {
    const az = (i / SIDE_STEPS) * Math.PI;
    // Parameter t of (a sin t, b cos t) in the direction az, in the same quarter.
    const t = Math.atan2(Math.sin(az) / a, Math.cos(az) / b);
    table[i] = ellipseArc(a, b, 0, t);
  }
  return table;
}

function closestThree(
  p: Float64Array,
  among: Uint32Array,
  point: Vec3,
): { roots: readonly number[]; share: readonly number[] } {
  const found = [-1, -1, -1];
  const far = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  for (const j of among) {
    const dz = p[3 * j + 2]! - point[2]!;
    if (dz * dz >= far[2]!) continue;
    const d = (p[3 * j]! - point[0]!) ** 2 + (p[3 * j + 1]! - point[1]!) ** 2 + dz * dz;
    if (d >= far[2]!) continue;
    let k = 2;
    while (k > 0 && d < far[k - 1]!) {
      far[k] = far[k - 1]!;
      found[k] = found[k - 1]!;
      k--;
    }
    far[k] = d;
    found[k] = j;
  }
  // A zone shifted down to a handful of roots may have fewer than three.
  const known = found.map((j) => (j < 0 ? found[0]! : j));
  if (found[0]! < 0) return { roots: [-1, -1, -1], share: [0, 0, 0] };
  const weights = far.map((d) => (Number.isFinite(d) ? 1 / (d + 0.01) : 0));
  const sum = weights[0]! + weights[1]! + weights[2]!;
  return { roots: known, share: weights.map((w) => w / sum) };
}
