import { addDays } from '../growth/index.js';
import { ZONES, type Zone } from '../zones.js';
import { firstToFail } from './first-to-fail.js';
import { type HoldLimit, limitInWords, limitZone } from './limits.js';
import { HORIZON_DAYS, ShapeSurvival } from './survival.js';
import { failureDays } from './window-days.js';
import { packWindow, type WindowInput } from './window-row.js';

/** Days on which a shape, or one limit of it, has failed with probability 10, 50 and 90 %. */
export interface WindowDays {
  /** Whole days after the cut. */
  readonly earliestDays: number;
  readonly dueDays: number;
  readonly latestDays: number;
  /** ISO dates. */
  readonly earliestOn: string;
  readonly dueOn: string;
  readonly latestOn: string;
  /** Which of the three were not reached within two years; their dates then stand at that horizon. */
  readonly beyondHorizon: readonly ('earliest' | 'due' | 'latest')[];
}

export interface LimitOutlook extends WindowDays {
  readonly zone: Zone;
  readonly limit: HoldLimit;
  /** "the nape has grown by 6 mm" */
  readonly reason: string;
  /** Probability that this limit is the first of the shape to be passed. */
  readonly probability: number;
}

export interface RebookingWindow extends WindowDays {
  readonly first: LimitOutlook;
  /** Every zone that has a limit, with the limit that goes first there; the likeliest to fail first leads. */
  readonly perZone: readonly LimitOutlook[];
  /** Probability that the shape still holds so many days after the cut. */
  readonly survival: (days: number) => number;
}

const NAMES = ['earliest', 'due', 'latest'] as const;

/**
 * When to come back: the days on which the shape has failed with probability 10, 50 and 90 % (to the nearest whole
 * day), over all limits, whose zones share the person's growth; see ShapeSurvival for the mathematics.
 *
 * Throws ENGINE.IMPOSSIBLE without limits, for a limit whose zone has no length or whose landmark has no allowance;
 * ENGINE.NOT_A_NUMBER / OUT_OF_RANGE naming the field for impossible values.
 */
export function rebookingWindow(input: WindowInput): RebookingWindow {
  const row = packWindow(input);
  const shape = new ShapeSurvival();
  shape.load(row, 0, row.length);
  const whole = windowDays(shape, input.cutOn);
  const shares = firstToFail(shape, input.limits.length, Math.min(HORIZON_DAYS, 1.5 * whole.latestDays + 1));
  const single = new ShapeSurvival();
  const outlooks = input.limits.map((limit, k): LimitOutlook => {
    single.load(row, 0, row.length, k);
    return {
      zone: limitZone(limit),
      limit,
      reason: limitInWords(limit),
      probability: shares[k] ?? 0,
      ...windowDays(single, input.cutOn),
    };
  });
  outlooks.sort((a, b) => b.probability - a.probability);
  const perZone = ZONES.flatMap((zone) => outlooks.find((outlook) => outlook.zone === zone) ?? []).sort(
    (a, b) => b.probability - a.probability,
  );
  return {
    ...whole,
    first: outlooks[0] as LimitOutlook,
    perZone,
    survival: (days) => 1 - shape.failed(days),
  };
}

function windowDays(shape: ShapeSurvival, cutOn: string): WindowDays {
  const days = failureDays(shape).map((day) => Math.round(day));
  const [earliestDays = 0, dueDays = 0, latestDays = 0] = days;
  return {
    earliestDays,
    dueDays,
    latestDays,
    earliestOn: addDays(cutOn, earliestDays),
    dueOn: addDays(cutOn, dueDays),
    latestOn: addDays(cutOn, latestDays),
    beyondHorizon: NAMES.filter((_, i) => days[i] === HORIZON_DAYS),
  };
}
