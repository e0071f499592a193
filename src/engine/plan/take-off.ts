import { requireNumber } from '../errors.js';
import type { LengthProjection } from '../growth/index.js';

export interface TakeOff {
  /** To cut off today; negative when the hair is too short for what is wanted. */
  readonly meanMm: number;
  /** Bounds of the 90 % interval. */
  readonly lowMm: number;
  readonly highMm: number;
  /** What lacks today, 0 when there is enough. */
  readonly missingMm: number;
  readonly words: string;
}

/**
 * What to take off a zone today: projected minus wanted, with the projection's 90 % interval.
 * `wantedMm` from 0 to 2000.
 */
export function takeOff(input: {
  readonly projectedMm: LengthProjection;
  readonly wantedMm: number;
}): TakeOff {
  const wantedMm = requireNumber(input.wantedMm, 'wantedMm', 0, 2000);
  const meanMm = input.projectedMm.meanMm - wantedMm;
  const missingMm = Math.max(0, -meanMm);
  return {
    meanMm,
    lowMm: input.projectedMm.lowMm - wantedMm,
    highMm: input.projectedMm.highMm - wantedMm,
    missingMm,
    words: inWords(meanMm),
  };
}

function inWords(meanMm: number): string {
  const mm = Math.round(Math.abs(meanMm));
  if (mm === 0) return 'as wanted today, nothing to take off';
  return meanMm > 0 ? `take off ${mm} mm` : `too short today, ${mm} mm missing`;
}
