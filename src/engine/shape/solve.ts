import { EngineError } from '../errors.js';
import type { Head } from '../head/index.js';
import { bisect } from './bisect.js';
import { type GraduatedBack, graduationWeightLineMm } from './graduated-back.js';

const NEAR_DEG = 0.01;
const NEAR_MM = 0.01;

/**
 * Elevation in degrees, 0 to 180, at which a graduated back gets the wanted weight line: the higher the line, the higher
 * the hair is lifted.
 *
 * @throws EngineError IMPOSSIBLE (field `elevationDeg`) with the heights within reach, or as graduationTopLengthMm does
 */
export function solveElevationDeg(
  head: Head,
  back: Omit<GraduatedBack, 'elevationDeg'>,
  wantedLineZMm: number,
): number {
  return bisect((elevationDeg) => graduationWeightLineMm(head, { ...back, elevationDeg }), wantedLineZMm, {
    field: 'elevationDeg',
    min: 0,
    max: 180,
    tolerance: NEAR_DEG,
  });
}

/**
 * Height in mm of the last section, from the first one to the equator, at which a back graduated at a given elevation gets
 * the wanted weight line.
 *
 * @throws EngineError IMPOSSIBLE (field `toZMm`) with the heights within reach, or as graduationTopLengthMm does
 */
export function solveEndHeightMm(
  head: Head,
  back: Omit<GraduatedBack, 'toZMm'>,
  wantedLineZMm: number,
): number {
  return bisect((toZMm) => graduationWeightLineMm(head, { ...back, toZMm }), wantedLineZMm, {
    field: 'toZMm',
    min: back.fromZMm,
    max: 0,
    tolerance: NEAR_MM,
  });
}

/**
 * Length at the guide in mm, 0 to 600, at which a figure read from the cut (the end of a zone above a landmark, a weight
 * line) takes the wanted value.
 *
 * @param read the figure in mm for a length at the guide; it must rise or fall all the way
 * @throws EngineError IMPOSSIBLE (field `guideLengthMm`) with what is within reach; OUT_OF_RANGE for bounds the wrong way
 */
export function solveGuideLengthMm(
  read: (guideLengthMm: number) => number,
  wanted: number,
  bounds: { readonly minMm: number; readonly maxMm: number } = { minMm: 0, maxMm: 600 },
): number {
  if (!(bounds.minMm < bounds.maxMm)) {
    throw new EngineError('ENGINE.OUT_OF_RANGE', 'bounds', 'The shortest length must lie under the longest.');
  }
  return bisect(read, wanted, {
    field: 'guideLengthMm',
    min: bounds.minMm,
    max: bounds.maxMm,
    tolerance: NEAR_MM,
  });
}
