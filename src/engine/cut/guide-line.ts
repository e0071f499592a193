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
  const az = Math.abs(azDegrees);
  for (let i = 1; i < GUIDE_LINE.length; i++) {
    const [az1, z1] = GUIDE_LINE[i]!;
    if (az <= az1) {
      const [az0, z0] = GUIDE_LINE[i - 1]!;
      return z0 + ((z1 - z0) * (az - az0)) / (az1 - az0);
    }
  }
  return -100;
}
