import { alongPolyline } from './polyline.js';

/**
 * The mean head in mm: cranium ellipsoid 150 broad and 190 long (women's means 147.8 and 189.8, ANSUR II 2012),
 * apex 90 above its centre. Everything here is scaled to the client's circumference.
 */
export const CRANIUM = { a: 75, b: 95, c: 90 } as const;

/** The neck reaches up inside the cranium and comes out of it at z = -71 on the midline of the back. */
export const NECK = { rx: 50, ry: 54, centreY: -4, topZ: -50 } as const;

/** Circumference in mm, over hair, that the mean head stands for (women 561.1 +- 19.4, ANSUR II 2012). */
export const MEAN_CIRCUMFERENCE_MM = 560;

/** Height z (mm) of the hairline by distance from the front in degrees |az|, az = atan2(x, y); linear between. */
export const HAIRLINE: ReadonlyArray<readonly [azDegrees: number, zMm: number]> = [
  [0, 50],
  [20, 52],
  [38, 50],
  [50, 28],
  [60, 5],
  [68, -20],
  [76, -38],
  [84, -38],
  [86, -12],
  [100, -12],
  [108, -35],
  [118, -62],
  [135, -85],
  [155, -97],
  [180, -100],
];

/** Half of the mean distance between the pupils (61.7, ANSUR II women): a side parting stands above the eye. */
export const SIDE_PARTING_X_MM = 31;

/** How far a whorl to one side lies off the midline. Ours, no source. */
export const SIDE_WHORL_X_MM = 15;

/** Height in mm of the hairline of the mean head at `azDegrees` from the front, either side. */
export function meanHairlineZ(azDegrees: number): number {
  const az = Math.abs(azDegrees) % 360;
  return alongPolyline(HAIRLINE, az > 180 ? 360 - az : az);
}
