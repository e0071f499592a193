import type { ZoneLength } from './entities.js';
import type { LengthInput } from './formula.input.js';
import type { StandingLength } from './formulas.js';
import { type Lesson, MEASURING_SD_MM } from './growth-profiles.js';

/** How sure a hand is of a length it has just cut, one standard deviation (ours; no published figure). */
const CUT_SD_MM = 3;

/**
 * Where every zone stands after a visit. A zone that was cut stands at its new length from today. One that was not
 * keeps its earlier length and day, whose growth the measurements have already taught, unless what was measured
 * today cannot have grown from it: then it stands at the measured length.
 */
export function standingLengths(
  lengths: readonly LengthInput[],
  before: readonly ZoneLength[],
  lessons: readonly Lesson[],
  visitOn: string,
): StandingLength[] {
  return lengths.map((length) => {
    const wantedMm = length.wantedMm ?? length.leftMm;
    const earlier = before.find(({ zone }) => zone === length.zone);
    if (length.cut === false && earlier) {
      const anew = lessons.find(
        ({ measurement, startsAnew }) => startsAnew && measurement.zone === length.zone,
      );
      if (anew) {
        return {
          zone: length.zone,
          leftMm: anew.measurement.lengthMm,
          leftSdMm: MEASURING_SD_MM[anew.measurement.tool],
          leftOn: visitOn,
          wantedMm,
        };
      }
      const { leftMm, leftSdMm, leftOn } = earlier;
      return { zone: length.zone, leftMm, leftSdMm, leftOn, wantedMm };
    }
    return {
      zone: length.zone,
      leftMm: length.leftMm,
      leftSdMm: length.leftSdMm ?? CUT_SD_MM,
      leftOn: visitOn,
      wantedMm,
    };
  });
}
