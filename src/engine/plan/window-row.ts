import { EngineError } from '../errors.js';
import { ageProfile, type GrowthProfile, LOADING_NUMBERS, loadingsOf } from '../growth/index.js';
import { ZONES } from '../zones.js';
import { leftLengths } from './left-lengths.js';
import type { HoldLimit, ZoneLeft } from './limits.js';
import { marginOf } from './margins.js';

export interface WindowInput {
  readonly profile: GrowthProfile;
  /** ISO date of the cut. */
  readonly cutOn: string;
  readonly zones: readonly ZoneLeft[];
  readonly limits: readonly HoldLimit[];
}

/** Numbers at the head of a row: the growth loadings, then leftSdMm per zone. */
export const HEAD_NUMBERS = LOADING_NUMBERS + ZONES.length;
/** Numbers per limit behind the head: c, z1, o1, a1, b1, z2, o2, a2, b2, noiseSd, see Margin. */
export const MARGIN_NUMBERS = 10;

/**
 * All that a client's window depends on as one flat row of numbers: 28, and 10 more per limit. To be stored beside the
 * client (as a blob) and made anew whenever the profile, the cut or a limit changes; {@link windowsOf} reads it.
 *
 * Throws what {@link rebookingWindow} throws.
 */
export function packWindow(input: WindowInput): Float64Array {
  if (input.limits.length === 0) {
    throw new EngineError('ENGINE.IMPOSSIBLE', 'limits', 'A rebooking window needs at least one hold limit.');
  }
  const left = leftLengths(input.zones, input.cutOn);
  const row = new Float64Array(HEAD_NUMBERS + MARGIN_NUMBERS * input.limits.length);
  row.set(loadingsOf(ageProfile(input.profile, input.cutOn)));
  row.set(left.leftSdMm, LOADING_NUMBERS);
  input.limits.forEach((limit, k) => {
    const { c, z1, o1, a1, b1, z2, o2, a2, b2, noiseSd } = marginOf(limit, input.cutOn, left);
    row.set([c, z1, o1, a1, b1, z2, o2, a2, b2, noiseSd], HEAD_NUMBERS + MARGIN_NUMBERS * k);
  });
  return row;
}
