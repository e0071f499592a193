import { EngineError, requireNumber } from '../errors.js';
import { daysBetween } from '../growth/index.js';
import { ZONES, type Zone } from '../zones.js';
import type { LeftLengths } from './left-lengths.js';
import type { HoldLimit } from './limits.js';

/**
 * Every limit as one linear margin, held while above 0:
 *
 *   margin(t) = c - a1 * (t + o1) * rate(z1) - a2 * (t + o2) * rate(z2) - b1 * e(z1) - b2 * e(z2) - noise
 *
 * with t the days since the cut the window starts from, o the days a zone had then been growing already, e(z) the error
 * of the length the zone was left at, and noise the uncertainty of the limit itself. Zones as positions in ZONES;
 * z2 = -1 where a limit looks at one zone.
 */
export interface Margin {
  readonly c: number;
  readonly z1: number;
  readonly o1: number;
  readonly a1: number;
  readonly b1: number;
  readonly z2: number;
  readonly o2: number;
  readonly a2: number;
  readonly b2: number;
  readonly noiseSd: number;
}

/**
 * The margin of a limit after a cut on `cutOn`.
 * Throws an EngineError naming the limit's field for values outside 0-2000 mm, a landmark without its allowance
 * or a zone without a length.
 */
export function marginOf(limit: HoldLimit, cutOn: string, left: LeftLengths): Margin {
  switch (limit.kind) {
    case 'grown-by':
      return growthMargin(
        limit.zone,
        left.daysBefore(limit.zone),
        requireNumber(limit.mm, 'mm', 0, 2000),
        0,
        limit.sdMm,
      );
    case 'longer-than':
      return growthMargin(
        limit.zone,
        left.daysBefore(limit.zone),
        requireNumber(limit.mm, 'mm', 0, 2000) - left.leftMm(limit.zone),
        1,
        limit.sdMm,
      );
    case 'landmark': {
      if (limit.allowanceMm === undefined) {
        throw new EngineError(
          'ENGINE.IMPOSSIBLE',
          'allowanceMm',
          `The ${limit.landmark} limit of the ${limit.zone} needs its allowance worked out from the shape first.`,
        );
      }
      return growthMargin(
        limit.zone,
        left.daysBefore(limit.zone),
        requireNumber(limit.allowanceMm, 'allowanceMm', -2000, 2000),
        1,
        limit.sdMm,
      );
    }
    case 'weight-line':
      return growthMargin(
        limit.zone,
        left.daysBefore(limit.zone),
        requireNumber(
          limit.allowanceMm ?? requireNumber(limit.dropMm, 'dropMm', 0, 2000),
          'allowanceMm',
          0,
          2000,
        ),
        0,
        limit.sdMm,
      );
    case 'root-band': {
      const days = limit.colouredOn === undefined ? 0 : daysBetween(limit.colouredOn, cutOn);
      return growthMargin(limit.zone ?? 'top', days, requireNumber(limit.mm, 'mm', 0, 2000), 0, limit.sdMm);
    }
    case 'contrast':
      return contrastMargin(limit, left);
  }
}

function growthMargin(
  zone: Zone,
  daysBefore: number,
  allowanceMm: number,
  leftErrorShare: 0 | 1,
  sdMm = 0,
): Margin {
  return {
    c: allowanceMm,
    z1: position(zone),
    o1: daysBefore,
    a1: 1,
    b1: leftErrorShare,
    z2: -1,
    o2: 0,
    a2: 0,
    b2: 0,
    noiseSd: requireNumber(sdMm, 'sdMm', 0, 500),
  };
}

/** by difference: L(against) - L(zone) - value; by ratio: L(against) - value * L(zone). */
function contrastMargin(limit: HoldLimit & { kind: 'contrast' }, left: LeftLengths): Margin {
  if (limit.zone === limit.against) {
    throw new EngineError('ENGINE.IMPOSSIBLE', 'against', 'A contrast needs two different zones.');
  }
  const isRatio = limit.by === 'ratio';
  const value = isRatio
    ? requireNumber(limit.value, 'value', 0.001, 1000)
    : requireNumber(limit.value, 'value', -2000, 2000);
  const share = isRatio ? value : 1;
  return {
    c: left.leftMm(limit.against) - share * left.leftMm(limit.zone) - (isRatio ? 0 : value),
    z1: position(limit.zone),
    o1: left.daysBefore(limit.zone),
    a1: share,
    b1: share,
    z2: position(limit.against),
    o2: left.daysBefore(limit.against),
    a2: -1,
    b2: -1,
    // A doubtful ratio is worth as many mm as the shorter zone is long.
    noiseSd: requireNumber(limit.sd ?? 0, 'sd', 0, 500) * (isRatio ? left.leftMm(limit.zone) : 1),
  };
}

function position(zone: Zone): number {
  const index = ZONES.indexOf(zone);
  if (index < 0) {
    throw new EngineError('ENGINE.UNKNOWN_ZONE', 'zone', `zone must be one of ${ZONES.join(', ')}.`);
  }
  return index;
}
