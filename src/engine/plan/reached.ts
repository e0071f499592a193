import { EngineError, requireNumber } from '../errors.js';
import type { Zone } from '../zones.js';
import { type HoldLimit, limitZone, type ZoneLeft } from './limits.js';

/** How long a zone is now, measured or projected. */
export interface ZoneNow {
  readonly zone: Zone;
  readonly lengthMm: number;
  readonly sdMm: number;
}

/**
 * How far a limit has come, in its own terms and with its error: what {@link learnLimit} asks for, and what a card shows
 * as "9 of 12 mm". mm grown (grown-by, landmark, weight-line), mm long (longer-than), the difference in mm or the ratio
 * (contrast; the error of a ratio to first order), mm of `bandMm` (root-band).
 *
 * Throws ENGINE.IMPOSSIBLE where a length it needs is not given.
 */
export function reachedOf(
  limit: HoldLimit,
  left: readonly ZoneLeft[],
  now: readonly ZoneNow[],
  bandMm?: { readonly meanMm: number; readonly sdMm: number },
): { reached: number; reachedSd: number } {
  if (limit.kind === 'root-band') {
    if (bandMm === undefined) throw missing('bandMm', 'The width of the root band');
    return { reached: bandMm.meanMm, reachedSd: bandMm.sdMm };
  }
  const own = lengthNow(limitZone(limit), now);
  if (limit.kind === 'longer-than') return { reached: own.lengthMm, reachedSd: own.sdMm };
  if (limit.kind === 'contrast') {
    const other = lengthNow(limit.against, now);
    if (limit.by === 'difference') {
      return { reached: other.lengthMm - own.lengthMm, reachedSd: Math.hypot(own.sdMm, other.sdMm) };
    }
    const shorter = Math.max(1, own.lengthMm);
    const ratio = other.lengthMm / shorter;
    return { reached: ratio, reachedSd: Math.hypot(other.sdMm, ratio * own.sdMm) / shorter };
  }
  const before = left.find(({ zone }) => zone === limit.zone);
  if (before === undefined) throw missing('left', `The length the ${limit.zone} was left at`);
  return { reached: own.lengthMm - before.leftMm, reachedSd: Math.hypot(own.sdMm, before.leftSdMm) };
}

function lengthNow(zone: Zone, now: readonly ZoneNow[]): ZoneNow {
  const found = now.find((length) => length.zone === zone);
  if (found === undefined) throw missing('now', `The present length of the ${zone}`);
  requireNumber(found.lengthMm, 'lengthMm', 0, 2000);
  requireNumber(found.sdMm, 'sdMm', 0, 200);
  return found;
}

function missing(field: string, what: string): EngineError {
  return new EngineError('ENGINE.IMPOSSIBLE', field, `${what} is needed to judge this limit.`);
}
