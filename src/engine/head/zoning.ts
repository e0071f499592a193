import { ZONES, type Zone } from '../zones.js';

/**
 * Where one zone ends and the next begins, on the mean head (mm, degrees from the front): data, so that a
 * stylist's own sectioning can shift them. The first match of `zoneIndexAt` wins.
 */
export interface ZoneBounds {
  /** The nape lies below this height ... */
  readonly napeBelowZMm: number;
  /** ... and further round than this. */
  readonly napeBehindDegrees: number;
  /** The crown lies within this distance (chord) of the whorl. */
  readonly crownRadiusMm: number;
  readonly fringeWithinDegrees: number;
  readonly fringeFromYMm: number;
  /** Upward part of the surface normal at the parietal ridge: 0.574 is 35 degrees above horizontal. */
  readonly ridgeNormalZ: number;
  /** In front of this the top reaches down to the hairline. */
  readonly topWithinDegrees: number;
  /** Behind this the top becomes the crown. */
  readonly topFromYMm: number;
  /** The sides end and the back begins. */
  readonly sideToDegrees: number;
}

export const TRADE_ZONE_BOUNDS: ZoneBounds = {
  napeBelowZMm: -40,
  napeBehindDegrees: 105,
  crownRadiusMm: 38,
  fringeWithinDegrees: 38,
  fringeFromYMm: 45,
  ridgeNormalZ: 0.574,
  topWithinDegrees: 30,
  topFromYMm: -30,
  sideToDegrees: 105,
};

const FRINGE = ZONES.indexOf('fringe');
const TOP = ZONES.indexOf('top');
const CROWN = ZONES.indexOf('crown');
const LEFT = ZONES.indexOf('left-side');
const RIGHT = ZONES.indexOf('right-side');
const BACK = ZONES.indexOf('back');
const NAPE = ZONES.indexOf('nape');

/** Position in ZONES of the zone at a surface point of the mean head (mm) whose normal has the upward part `nz`. */
export function zoneIndexAt(
  bounds: ZoneBounds,
  whorl: { readonly x: number; readonly y: number; readonly z: number },
  x: number,
  y: number,
  z: number,
  nz: number,
): number {
  const az = (Math.abs(Math.atan2(x, y)) * 180) / Math.PI;
  if (z < bounds.napeBelowZMm && az > bounds.napeBehindDegrees) return NAPE;
  const wx = x - whorl.x;
  const wy = y - whorl.y;
  const wz = z - whorl.z;
  if (wx * wx + wy * wy + wz * wz <= bounds.crownRadiusMm * bounds.crownRadiusMm) return CROWN;
  if (az <= bounds.fringeWithinDegrees && y >= bounds.fringeFromYMm) return FRINGE;
  if (nz >= bounds.ridgeNormalZ || az < bounds.topWithinDegrees) return y >= bounds.topFromYMm ? TOP : CROWN;
  if (az <= bounds.sideToDegrees) return x < 0 ? LEFT : RIGHT;
  return BACK;
}

const MIRRORED: Readonly<Record<Zone, Zone>> = {
  fringe: 'fringe',
  top: 'top',
  crown: 'crown',
  'left-side': 'right-side',
  'right-side': 'left-side',
  back: 'back',
  nape: 'nape',
};

/** The zone across the midline: the sides change places, the others stay. */
export function mirrorZone(zone: Zone): Zone {
  return MIRRORED[zone];
}
