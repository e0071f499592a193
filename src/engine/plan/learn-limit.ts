import { EngineError, requireNumber } from '../errors.js';
import { truncatedNormal } from '../stats/index.js';
import { type HoldLimit, limitInWords } from './limits.js';

/** What the stylist saw on arrival. */
export interface HoldMark {
  readonly state: 'still-holding' | 'just-gone' | 'long-gone';
  /**
   * How far it had come, in the limit's own terms: mm grown (grown-by, landmark, weight-line), mm long (longer-than),
   * mm of band (root-band), the difference in mm or the ratio (contrast).
   */
  readonly reached: number;
  readonly reachedSd: number;
}

export interface LearnedLimit {
  readonly limit: HoldLimit;
  readonly note: string;
}

/** "Just gone" means passed by no more than this part of the limit, or this many mm if that is more. */
const JUST_SHARE = 0.2;
const JUST_MM = 3;
/** Doubt about a limit that was never given one: the house's figure for a client it does not know yet. */
const HOUSE_DOUBT = 0.25;
/** Tastes move: a limit never becomes surer than this part of itself. */
const LEAST_DOUBT = 0.05;
/** A ratio of lengths lies above 0, and is kept to two decimals. */
const LEAST_RATIO = 0.01;

/**
 * Moves a client's limit by what the stylist saw on arrival.
 *
 * The limit is a normal belief, mean its value and standard deviation `sdMm` (`sd` for a contrast; without one a
 * quarter of the value; 0 means fixed, and it stays). A mark is a censored observation of it: "still holding" says the
 * limit lies beyond what was reached, "just gone" that it was passed by at most a fifth of it or 3 mm, "long gone" by
 * more. With x reached (error sd e), the distance u = limit - x is normal with variance sd² + e²; the mark cuts u to an
 * interval, the truncated normal distribution gives its mean and variance, and regression of the limit on u carries
 * them over. The result is kept as a normal belief again (assumed-density filtering), so that marks can follow marks.
 *
 * For a landmark the moved allowance less the one the shape gave is this client's tolerance, to be kept for later cuts.
 * Returns a new limit; the given one is not changed. Throws ENGINE.IMPOSSIBLE for a landmark without its allowance.
 */
export function learnLimit(limit: HoldLimit, mark: HoldMark): LearnedLimit {
  const reached = requireNumber(mark.reached, 'reached', -2000, 2000);
  const reachedSd = requireNumber(mark.reachedSd, 'reachedSd', 0, 500);
  const belief = beliefOf(limit);
  if (belief.sd === 0) return { limit, note: `Fixed by the stylist: ${limitInWords(limit)}.` };
  const size = Math.abs(belief.value);
  const just =
    limit.kind === 'contrast' && limit.by === 'ratio'
      ? JUST_SHARE * size
      : Math.max(JUST_MM, JUST_SHARE * size);
  // A contrast is passed downwards: seen in the mirror it is a limit like the others.
  const sign = limit.kind === 'contrast' ? -1 : 1;
  const [low, high] = {
    'still-holding': [0, Infinity],
    'just-gone': [-just, 0],
    'long-gone': [-Infinity, -just],
  }[mark.state] as [number, number];
  const apart = sign * (belief.value - reached);
  const spread = Math.hypot(belief.sd, reachedSd);
  const cut = truncatedNormal(apart, spread, low, high);
  const gain = (belief.sd * belief.sd) / (spread * spread);
  const value = belief.value + sign * gain * (cut.mean - apart);
  const variance = belief.sd ** 2 - gain * gain * (spread * spread - cut.variance);
  const learned = withBelief(
    limit,
    round(value),
    round(Math.max(Math.sqrt(Math.max(0, variance)), LEAST_DOUBT * size)),
  );
  return { limit: learned, note: noteOn(belief.value, learned, mark) };
}

function noteOn(before: number, learned: HoldLimit, mark: HoldMark): string {
  const after = beliefOf(learned).value;
  const unit = learned.kind === 'contrast' && learned.by === 'ratio' ? '' : ' mm';
  const seen = mark.state.replace('-', ' ');
  return `Seen as ${seen} at ${round(mark.reached)}${unit}: this client's limit moves from ${round(before)}${unit} to ${after}${unit}.`;
}

function beliefOf(limit: HoldLimit): { value: number; sd: number } {
  const value = sizeOf(limit);
  const stated = limit.kind === 'contrast' ? limit.sd : limit.sdMm;
  return { value, sd: requireNumber(stated ?? HOUSE_DOUBT * Math.abs(value), 'sdMm', 0, 500) };
}

function sizeOf(limit: HoldLimit): number {
  switch (limit.kind) {
    case 'contrast':
      return requireNumber(limit.value, 'value', -2000, 2000);
    case 'weight-line':
      return requireNumber(limit.allowanceMm ?? limit.dropMm, 'dropMm', 0, 2000);
    case 'landmark':
      if (limit.allowanceMm === undefined) {
        throw new EngineError(
          'ENGINE.IMPOSSIBLE',
          'allowanceMm',
          `The ${limit.landmark} limit needs its allowance worked out from the shape first.`,
        );
      }
      return requireNumber(limit.allowanceMm, 'allowanceMm', -2000, 2000);
    default:
      return requireNumber(limit.mm, 'mm', 0, 2000);
  }
}

function withBelief(limit: HoldLimit, value: number, sd: number): HoldLimit {
  switch (limit.kind) {
    case 'contrast':
      return { ...limit, value: limit.by === 'ratio' ? Math.max(LEAST_RATIO, value) : value, sd };
    case 'weight-line':
      return limit.allowanceMm === undefined
        ? { ...limit, dropMm: Math.max(0, value), sdMm: sd }
        : { ...limit, allowanceMm: Math.max(0, value), sdMm: sd };
    case 'landmark':
      return { ...limit, allowanceMm: value, sdMm: sd };
    default:
      return { ...limit, mm: Math.max(0, value), sdMm: sd };
  }
}

const round = (value: number): number => Math.round(100 * value) / 100;
