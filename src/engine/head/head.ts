import { EngineError, requireNumber } from '../errors.js';
import {
  CRANIUM,
  MEAN_CIRCUMFERENCE_MM,
  meanHairlineZ,
  NECK,
  SIDE_PARTING_X_MM,
  SIDE_WHORL_X_MM,
} from './anatomy.js';
import type { CombPattern } from './comb.js';
import { type Landmarks, landmarksOf, type Point } from './landmarks.js';
import { type Roots, scalpLattice } from './roots.js';
import { CraniumSurface, type Surface, type Vec3 } from './surface.js';
import { TRADE_ZONE_BOUNDS, type ZoneBounds, zoneIndexAt } from './zoning.js';

export interface HeadOptions {
  /** Measured round the head over the hair, 450 to 700 mm; 560 if unknown. */
  readonly circumferenceMm?: number;
  /** The client's own left or right. */
  readonly whorlSide?: 'left' | 'right' | 'middle';
  /** Place of the crown whorl in mm on this head; wins over `whorlSide`. It must lie on the upper head. */
  readonly whorlAtMm?: { readonly x: number; readonly y: number };
  readonly partingSide?: 'left' | 'right' | 'middle' | 'none';
  /** About how many roots, 200 to 40,000; 4,000 if unset. */
  readonly rootCount?: number;
  readonly zoneBounds?: ZoneBounds;
}

export interface Head {
  readonly options: HeadOptions;
  /** Size against the mean head. */
  readonly scale: number;
  readonly surface: Surface;
  readonly landmarks: Landmarks;
  readonly roots: Roots;
  readonly comb: CombPattern;
  /** Height in mm of the hairline at `azDegrees` from the front, either side. */
  hairlineZ(azDegrees: number): number;
  /** Position in ZONES of the zone a surface point (mm) belongs to, whether hair grows there or not. */
  zoneIndexAt(x: number, y: number, z: number): number;
}

/**
 * A head of the client's size with its landmarks, zones and roots. Pure and deterministic: equal options give
 * equal heads. Throws EngineError where a measurement is out of range or the whorl does not lie on the crown.
 */
export function buildHead(options: HeadOptions = {}): Head {
  const circumference = requireNumber(
    options.circumferenceMm ?? MEAN_CIRCUMFERENCE_MM,
    'circumferenceMm',
    450,
    700,
  );
  const wanted = requireNumber(options.rootCount ?? 4000, 'rootCount', 200, 40_000);
  const scale = circumference / MEAN_CIRCUMFERENCE_MM;
  const bounds = checkedBounds(options.zoneBounds ?? TRADE_ZONE_BOUNDS);
  const mean = new CraniumSurface(CRANIUM.a, CRANIUM.b, CRANIUM.c, NECK);
  const surface = new CraniumSurface(CRANIUM.a * scale, CRANIUM.b * scale, CRANIUM.c * scale, {
    rx: NECK.rx * scale,
    ry: NECK.ry * scale,
    centreY: NECK.centreY * scale,
    topZ: NECK.topZ * scale,
  });
  const whorl = meanWhorl(options, scale, mean);
  const normal: Vec3 = new Float64Array(3);
  const zoneIndex = (x: number, y: number, z: number): number => {
    const mx = x / scale;
    const my = y / scale;
    const mz = z / scale;
    mean.normal(mx, my, mz, normal);
    return zoneIndexAt(bounds, whorl, mx, my, mz, normal[2]!);
  };

  const lattice = scalpLattice(mean, wanted);
  const zone = new Uint8Array(lattice.count);
  for (let i = 0; i < lattice.count; i++) {
    const x = lattice.position[3 * i]!;
    const y = lattice.position[3 * i + 1]!;
    const z = lattice.position[3 * i + 2]!;
    zone[i] = zoneIndexAt(bounds, whorl, x, y, z, lattice.normal[3 * i + 2]!);
  }
  const roots: Roots = {
    count: lattice.count,
    position: lattice.position.map((mm) => mm * scale),
    normal: lattice.normal,
    areaMm2: lattice.areaMm2.map((mm2) => mm2 * scale * scale),
    zone,
  };
  const scaledWhorl = { x: whorl.x * scale, y: whorl.y * scale, z: whorl.z * scale };
  return {
    options,
    scale,
    surface,
    landmarks: landmarksOf(surface, scale, scaledWhorl),
    roots,
    comb: { whorl: scaledWhorl, partingXMm: partingX(options, scale), scale },
    hairlineZ: (azDegrees) => meanHairlineZ(azDegrees) * scale,
    zoneIndexAt: zoneIndex,
  };
}

function checkedBounds(bounds: ZoneBounds): ZoneBounds {
  const ranges: Record<keyof ZoneBounds, readonly [number, number]> = {
    napeBelowZMm: [-100, 0],
    napeBehindDegrees: [60, 180],
    crownRadiusMm: [0, 90],
    fringeWithinDegrees: [0, 90],
    fringeFromYMm: [0, 95],
    ridgeNormalZ: [0, 1],
    topWithinDegrees: [0, 90],
    topFromYMm: [-95, 95],
    sideToDegrees: [60, 180],
  };
  for (const [name, [min, max]] of Object.entries(ranges) as [
    keyof ZoneBounds,
    readonly [number, number],
  ][]) {
    requireNumber(bounds[name], `zoneBounds.${name}`, min, max);
  }
  return bounds;
}

function meanWhorl(options: HeadOptions, scale: number, mean: CraniumSurface): Point {
  const side = options.whorlSide ?? 'middle';
  const x = options.whorlAtMm
    ? options.whorlAtMm.x / scale
    : side === 'middle'
      ? 0
      : side === 'left'
        ? -SIDE_WHORL_X_MM
        : SIDE_WHORL_X_MM;
  const y = options.whorlAtMm ? options.whorlAtMm.y / scale : -61;
  requireNumber(x, 'whorlAtMm.x', -CRANIUM.a, CRANIUM.a);
  requireNumber(y, 'whorlAtMm.y', -CRANIUM.b, CRANIUM.b);
  const up = 1 - (x / CRANIUM.a) ** 2 - (y / CRANIUM.b) ** 2;
  const z = CRANIUM.c * Math.sqrt(Math.max(0, up));
  const normal: Vec3 = new Float64Array(3);
  mean.normal(x, y, z, normal);
  // Lower down, hair combed up off the whorl would stand against hair falling: there is no such pattern.
  if (normal[2]! < Math.SQRT1_2) {
    throw new EngineError(
      'ENGINE.OUT_OF_RANGE',
      'whorlAtMm',
      'The whorl must lie on the upper head: move it closer to the apex.',
    );
  }
  return { x, y, z };
}

function partingX(options: HeadOptions, scale: number): number | undefined {
  switch (options.partingSide ?? 'middle') {
    case 'none':
      return undefined;
    case 'left':
      return -SIDE_PARTING_X_MM * scale;
    case 'right':
      return SIDE_PARTING_X_MM * scale;
    default:
      return 0;
  }
}
