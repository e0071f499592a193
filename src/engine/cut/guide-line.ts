import { alongPolyline } from '../head/index.js';

/**
 * Height z (mm, mean head) of the line a guide is cut along, by |az| in degrees: the hairline, but carried straight
 * across the ear from the sideburn to behind it. A guide that followed the notch over the ear would leave a step of
 * 26 mm in every zone above it, which nobody cuts.
 */
const GUIDE_LINE: ReadonlyArray<readonly [number, number]> = [
  [0, 50],
  [20, 52],
  [38, 50],
  [50, 28],
  [60, 5],
  [68, -20],
  [76, -38],
  [100, -38],
  [118, -62],
  [135, -85],
  [155, -97],
  [180, -100],
];

export function guideLineZ(azDegrees: number): number {
  return alongPolyline(GUIDE_LINE, Math.abs(azDegrees));
}
