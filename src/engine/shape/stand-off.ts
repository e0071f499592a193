import { requireNumber } from '../errors.js';

/** Length in mm over which a strand gives way to its own weight. */
const BEND_MM = 25;
/** Length in mm over which the weight of the hair below presses the root area flat. */
const SETTLE_MM = 120;
const RADIANS = Math.PI / 180;

/**
 * Angle in degrees between scalp and strand at the root: 65 for stubble, 40 at 25 mm, towards 15 for long hair.
 *
 * Uncalibrated: the shape of the curve is plausible (stubble stands, length lies down), its constants have not been
 * measured on anybody. Use it to draw, never to decide a date.
 *
 * @param lengthMm strand length, 0 to 2000
 */
export function standOffAngle(lengthMm: number): number {
  requireNumber(lengthMm, 'lengthMm', 0, 2000);
  return 15 + 50 / (1 + (lengthMm / BEND_MM) ** 2);
}

/**
 * Distance in mm by which a strand stands off the path it would lie on, `alongMm` from its root:
 * 25·sin(alpha)·(1 - e^(-t/25))·e^(-L/120). Uncalibrated, like the angle.
 *
 * @param alongMm distance from the root, 0 to the strand's length
 * @param lengthMm strand length, 0 to 2000
 */
export function standOffOffset(alongMm: number, lengthMm: number): number {
  requireNumber(alongMm, 'alongMm', 0, 2000);
  return standOffReach(lengthMm) * (1 - Math.exp(-alongMm / BEND_MM));
}

/**
 * The part of the offset that is the same all along a strand of `lengthMm`, for loops that walk along many strands:
 * offset(t) = reach · (1 - e^(-t/25)).
 */
export function standOffReach(lengthMm: number): number {
  return BEND_MM * Math.sin(standOffAngle(lengthMm) * RADIANS) * Math.exp(-lengthMm / SETTLE_MM);
}

/** 1 - e^(-t/25) at t = 0, stepMm, 2·stepMm ...: the part of the offset that depends on the place alone. */
export function standOffRise(stepMm: number, count: number): Float64Array {
  return Float64Array.from({ length: count }, (_, i) => 1 - Math.exp((-i * stepMm) / BEND_MM));
}
