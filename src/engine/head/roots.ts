import { HAIRLINE, meanHairlineZ } from './anatomy.js';
import type { Surface, Vec3 } from './surface.js';

/** Where hair grows. Roots 2k and 2k + 1 are mirror images of each other. */
export interface Roots {
  readonly count: number;
  /** x, y, z in mm, three numbers a root. */
  readonly position: Float64Array;
  /** Outward unit normal, three numbers a root. */
  readonly normal: Float64Array;
  /** Scalp area in mm² that the root stands for. */
  readonly areaMm2: Float64Array;
  /** Position in ZONES. */
  readonly zone: Uint8Array;
}

/** Points on a scalp without their zones. */
export type Lattice = Omit<Roots, 'zone'>;

const GOLDEN = (Math.sqrt(5) - 1) / 2;
const LEVELS = 240;
const normal: Vec3 = new Float64Array(3);

/**
 * A Fibonacci lattice on one half of the scalp and its mirror image, on the mean head. Heights follow the
 * surface's area, directions the golden ratio (Swinbank and Purser 2006, Q J R Meteorol Soc 132:1769, from
 * memory); each point is weighted by the area element at its place, so the weights add up to the scalp's area.
 */
export function scalpLattice(surface: Surface, wanted: number): Lattice {
  const ladder = areaLadder(surface);
  const trial = halfLattice(surface, ladder, 4096);
  // Also where nothing grows the lattice must end.
  return halfLattice(surface, ladder, Math.max(8, Math.round((wanted / Math.max(1, trial.count)) * 4096)));
}

/** Area element dA / (du dz) at the ellipse parameter u and height z, writing the direction's normal. */
function areaElement(surface: Surface, u: number, z: number, at: Vec3): number {
  const { x: a, y: b } = surface.radiiMm;
  const su = Math.sin(u);
  const cu = Math.cos(u);
  const az = Math.atan2(a * su, b * cu);
  const r = surface.radiusAt(az, z);
  at[0] = r * Math.sin(az);
  at[1] = r * Math.cos(az);
  at[2] = z;
  surface.normal(at[0], at[1], z, normal);
  const outward = normal[0]! * Math.sin(az) + normal[1]! * Math.cos(az);
  return ((a * b) / (a * a * su * su + b * b * cu * cu)) * (r / outward);
}

/** Share of the area (0 to 1) above the lowest hairline at or below each of LEVELS + 1 even heights. */
function areaLadder(surface: Surface): { z: Float64Array; share: Float64Array } {
  const bottom = HAIRLINE.reduce((lowest, [, z]) => Math.min(lowest, z), 0);
  const top = surface.radiiMm.z;
  const z = new Float64Array(LEVELS + 1);
  const share = new Float64Array(LEVELS + 1);
  const at: Vec3 = new Float64Array(3);
  for (let i = 1; i <= LEVELS; i++) {
    const middle = bottom + ((i - 0.5) * (top - bottom)) / LEVELS;
    let ring = 0;
    for (let j = 0; j < 16; j++) ring += areaElement(surface, ((j + 0.5) * Math.PI) / 16, middle, at);
    share[i] = share[i - 1]! + ring;
  }
  const whole = share[LEVELS]!;
  for (let i = 0; i <= LEVELS; i++) {
    z[i] = bottom + (i * (top - bottom)) / LEVELS;
    share[i] = share[i]! / whole;
  }
  return { z, share };
}

function halfLattice(surface: Surface, ladder: ReturnType<typeof areaLadder>, points: number): Lattice {
  const position: number[] = [];
  const normals: number[] = [];
  const area: number[] = [];
  const at: Vec3 = new Float64Array(3);
  let rung = 0;
  const heightOf = (share: number): number => {
    while (rung < LEVELS - 1 && ladder.share[rung + 1]! < share) rung++;
    const s0 = ladder.share[rung]!;
    const s1 = ladder.share[rung + 1]!;
    const z0 = ladder.z[rung]!;
    return z0 + ((ladder.z[rung + 1]! - z0) * (share - s0)) / (s1 - s0);
  };
  let below = heightOf(0);
  for (let i = 0; i < points; i++) {
    const z = heightOf((i + 0.5) / points);
    const above = heightOf((i + 1) / points);
    const u = Math.PI * (((i + 0.5) * GOLDEN) % 1);
    const element = areaElement(surface, u, z, at);
    const x = at[0]!;
    const y = at[1]!;
    if (z >= meanHairlineZ((Math.atan2(x, y) * 180) / Math.PI)) {
      const cell = Math.PI * (above - below) * element;
      position.push(x, y, z, -x, y, z);
      normals.push(normal[0]!, normal[1]!, normal[2]!, -normal[0]!, normal[1]!, normal[2]!);
      area.push(cell, cell);
    }
    below = above;
  }
  return {
    count: area.length,
    position: Float64Array.from(position),
    normal: Float64Array.from(normals),
    areaMm2: Float64Array.from(area),
  };
}
