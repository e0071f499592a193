import { CRANIUM } from './anatomy.js';
import type { Surface } from './surface.js';

/** A place in mm: x right, y forward, z up from the cranium's centre. */
export interface Point {
  readonly x: number;
  readonly y: number;
  readonly z: number;
}

/** The points a stylist steers by, in mm on this head. */
export interface Landmarks {
  readonly apex: Point;
  readonly whorl: Point;
  /** Front hairline on the midline. */
  readonly trichion: Point;
  readonly brow: Point;
  readonly lidCrease: Point;
  readonly upperLid: Point;
  /** Just in front of the ear canal. */
  readonly tragionLeft: Point;
  readonly tragionRight: Point;
  readonly mastoidLeft: Point;
  readonly mastoidRight: Point;
  /** The furthest point of the occipital bone. */
  readonly occipital: Point;
  /** Where the neck muscles meet the skull, below the occipital bone's furthest point. */
  readonly inion: Point;
  /** Nape hairline on the midline. */
  readonly nape: Point;
  /** Parietal ridge above the ear: where the normal stands 35 degrees above horizontal. */
  readonly ridgeLeft: Point;
  readonly ridgeRight: Point;
}

const DEGREE = Math.PI / 180;

/** Landmarks of a head of size `scale` against the mean head; heights are those of the mean head (mm). */
export function landmarksOf(surface: Surface, scale: number, whorl: Point): Landmarks {
  const at = (x: number, y: number, z: number): Point => ({ x: x * scale, y: y * scale, z: z * scale });
  const midline = (azDegrees: number, z: number): Point => {
    const r = surface.radiusAt(azDegrees * DEGREE, z * scale);
    return { x: 0, y: azDegrees === 0 ? r : -r, z: z * scale };
  };
  const { a, c } = CRANIUM;
  const ridge = { cos: Math.cos(35 * DEGREE), sin: Math.sin(35 * DEGREE) };
  const k = Math.hypot(a * ridge.cos, c * ridge.sin);
  const ridgeX = (a * a * ridge.cos) / k;
  const ridgeZ = (c * c * ridge.sin) / k;
  return {
    apex: at(0, 0, c),
    whorl,
    trichion: midline(0, 49.7),
    brow: midline(0, -7),
    lidCrease: midline(0, -12),
    upperLid: midline(0, -20),
    tragionLeft: at(-68, 3, -38),
    tragionRight: at(68, 3, -38),
    mastoidLeft: at(-56, -18, -58),
    mastoidRight: at(56, -18, -58),
    occipital: midline(180, -15),
    inion: midline(180, -41),
    nape: midline(180, -100),
    ridgeLeft: at(-ridgeX, 0, ridgeZ),
    ridgeRight: at(ridgeX, 0, ridgeZ),
  };
}
