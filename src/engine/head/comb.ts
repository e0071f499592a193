import type { Surface, Vec3 } from './surface.js';

/** How the hair is combed above the parietal ridge, in mm on this head. */
export interface CombPattern {
  readonly whorl: { readonly x: number; readonly y: number; readonly z: number };
  /** x of the parting; undefined where the hair is worn without one and lies the way it grows, off the whorl. */
  readonly partingXMm: number | undefined;
  readonly scale: number;
}

const n: Vec3 = new Float64Array(3);

/** 0 below 0, 1 above 1, smooth between. */
function smoothstep(t: number): number {
  if (t <= 0) return 0;
  if (t >= 1) return 1;
  return t * t * (3 - 2 * t);
}

/**
 * Writes the unit direction, tangent to the surface, in which hair lies at a surface point. Below the ridge it
 * is straight downhill; above it a comb direction takes over with weight smoothstep((n_z - 0.25) / 0.5): forward
 * over the fringe, away from the parting on top, away from the whorl behind. The three pass into one another
 * over 30 to 40 mm, so that neighbours lie side by side and strands never cross. `combed` false: downhill only.
 */
export function fallDirection(
  surface: Surface,
  pattern: CombPattern,
  x: number,
  y: number,
  z: number,
  out: Vec3,
  combed = true,
): void {
  surface.normal(x, y, z, n);
  const nx = n[0]!;
  const ny = n[1]!;
  const nz = n[2]!;
  const slope = Math.sqrt(nx * nx + ny * ny);
  // Straight down, flattened on the surface: -z + n_z n, whose length is the slope.
  let dx = slope > 1e-9 ? (nx * nz) / slope : 0;
  let dy = slope > 1e-9 ? (ny * nz) / slope : 1;
  let dz = -slope;
  const k = combed ? smoothstep((nz - 0.25) / 0.5) : 0;
  if (k > 0) {
    const s = pattern.scale;
    const behind = 1 - smoothstep((y / s + 45) / 45);
    const az = (Math.abs(Math.atan2(x, y)) * 180) / Math.PI;
    const front = smoothstep((y / s - 30) / 30) * (1 - smoothstep((az - 30) / 16));
    const parted = pattern.partingXMm === undefined ? 0 : (1 - front) * (1 - behind);
    const grown = 1 - front - parted;
    let cx = 0;
    let cy = front;
    let cz = 0;
    const wx = x - pattern.whorl.x;
    const wy = y - pattern.whorl.y;
    const wz = z - pattern.whorl.z;
    const w = Math.sqrt(wx * wx + wy * wy + wz * wz);
    if (w > 1e-9) {
      cx += (grown * wx) / w;
      cy += (grown * wy) / w;
      cz += (grown * wz) / w;
    }
    if (parted > 0) cx += x < pattern.partingXMm! ? -parted : parted;
    const out1 = cx * nx + cy * ny + cz * nz;
    cx -= out1 * nx;
    cy -= out1 * ny;
    cz -= out1 * nz;
    const c = Math.sqrt(cx * cx + cy * cy + cz * cz);
    if (c > 1e-6) {
      dx = (1 - k) * dx + (k * cx) / c;
      dy = (1 - k) * dy + (k * cy) / c;
      dz = (1 - k) * dz + (k * cz) / c;
    }
  }
  const m = Math.sqrt(dx * dx + dy * dy + dz * dz);
  if (m < 1e-6) {
    fallDirection(surface, pattern, x, y, z, out, false);
    return;
  }
  out[0] = dx / m;
  out[1] = dy / m;
  out[2] = dz / m;
}

const middle: Vec3 = new Float64Array(3);
const heading: Vec3 = new Float64Array(3);

/**
 * Moves the surface point `at` by `stepMm` along the way the hair lies (negative: against it), by the midpoint
 * rule, and writes the new surface point back.
 */
export function stepAlongFall(
  surface: Surface,
  pattern: CombPattern,
  at: Vec3,
  stepMm: number,
  combed = true,
): void {
  const x = at[0]!;
  const y = at[1]!;
  const z = at[2]!;
  fallDirection(surface, pattern, x, y, z, heading, combed);
  const half = stepMm / 2;
  surface.project(x + half * heading[0]!, y + half * heading[1]!, z + half * heading[2]!, middle);
  fallDirection(surface, pattern, middle[0]!, middle[1]!, middle[2]!, heading, combed);
  surface.project(x + stepMm * heading[0]!, y + stepMm * heading[1]!, z + stepMm * heading[2]!, at);
}
