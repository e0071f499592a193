import { EngineError, requireNumber } from '../errors.js';
import type { Head } from '../head/index.js';

/** A back graduated upwards from the nape in horizontal sections over a travelling guide. */
export interface GraduatedBack {
  /** Length at the lowest section, mm. */
  readonly napeLengthMm: number;
  /** Height of the lowest and of the highest section, mm. */
  readonly fromZMm: number;
  readonly toZMm: number;
  /** Degrees from natural fall, 0 to 180. */
  readonly elevationDeg: number;
}

/** Fine, because the dip of the surface jumps where the neck begins. */
const STEP_MM = 0.05;
const RADIANS = Math.PI / 180;

/**
 * Length in mm at the top of a graduated back on the midline: dL = cos(e_eff) ds up the back of the head, where below the
 * equator, where the normal dips by delta, e_eff = e + delta·(1 - e/90) for e under 90 degrees.
 *
 * @throws EngineError NOT_A_NUMBER, OUT_OF_RANGE
 */
export function graduationTopLengthMm(head: Head, back: GraduatedBack): number {
  const { z: topZ } = head.surface.radiiMm;
  requireNumber(back.napeLengthMm, 'napeLengthMm', 0, 2000);
  requireNumber(back.fromZMm, 'fromZMm', -2 * topZ, topZ);
  requireNumber(back.toZMm, 'toZMm', -2 * topZ, topZ);
  requireNumber(back.elevationDeg, 'elevationDeg', 0, 180);
  if (back.toZMm < back.fromZMm) {
    throw new EngineError(
      'ENGINE.OUT_OF_RANGE',
      'toZMm',
      'The top of a graduation lies above its lowest section.',
    );
  }
  const steps = Math.max(1, Math.ceil((back.toZMm - back.fromZMm) / STEP_MM));
  const dz = (back.toZMm - back.fromZMm) / steps;
  const normal = new Float64Array(3);
  let lengthMm = back.napeLengthMm;
  for (let i = 0; i < steps; i += 1) {
    const z = back.fromZMm + i * dz;
    const below = head.surface.radiusAt(Math.PI, z);
    const above = head.surface.radiusAt(Math.PI, z + dz);
    head.surface.normal(0, -(below + above) / 2, z + dz / 2, normal);
    lengthMm +=
      Math.cos(effectiveElevation(back.elevationDeg, normal[2]!) * RADIANS) * Math.hypot(dz, above - below);
  }
  // A graduation can run out of hair, never into the head.
  return Math.max(0, lengthMm);
}

/** Height in mm of the weight line of a graduated back: z = z_top - L(z_top). */
export function graduationWeightLineMm(head: Head, back: GraduatedBack): number {
  return back.toZMm - graduationTopLengthMm(head, back);
}

function effectiveElevation(elevationDeg: number, normalZ: number): number {
  if (normalZ >= 0 || elevationDeg >= 90) return elevationDeg;
  const dipDeg = Math.asin(Math.min(1, -normalZ)) / RADIANS;
  return elevationDeg + dipDeg * (1 - elevationDeg / 90);
}
