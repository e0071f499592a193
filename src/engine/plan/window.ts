import { EngineError, requireNumber } from '../errors.js';
import { addDays, ageProfile, type GrowthProfile, loadingsOf } from '../growth/index.js';
import { ZONES, type Zone } from '../zones.js';
import { firstToFail } from './first-to-fail.js';
import { type HoldLimit, limitInWords, limitZone, type ZoneLeft } from './limits.js';
import { type Margin, marginOf } from './margins.js';
import { HORIZON_DAYS, ShapeSurvival } from './survival.js';
import { failureDay } from './window-days.js';

export interface WindowInput {
  readonly profile: GrowthProfile;
  /** ISO date of the cut. */
  readonly cutOn: string;
  readonly zones: readonly ZoneLeft[];
  readonly limits: readonly HoldLimit[];
}

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
  if (input.limits.length === 0) {
    throw new EngineError('ENGINE.IMPOSSIBLE', 'limits', 'A rebooking window needs at least one hold limit.');
  }
  const loadings = loadingsOf(ageProfile(input.profile, input.cutOn));
  const { leftMm, leftSdMm } = leftLengths(input.zones);
  const margins = input.limits.map((limit) => marginOf(limit, input.cutOn, leftMm));
  const shapeOf = (some: readonly Margin[]) => {
    const shape = new ShapeSurvival();
    shape.begin(loadings, 0, leftSdMm, 0);
    for (const margin of some) shape.add(margin);
    return shape;
  };
  const shape = shapeOf(margins);
  const whole = windowDays(shape, input.cutOn);
  const shares = firstToFail(
    margins.map((margin) => shapeOf([margin])),
    0,
    Math.min(HORIZON_DAYS, 1.5 * whole.latestDays + 1),
  );
  const outlooks = input.limits.map(
    (limit, k): LimitOutlook => ({
      zone: limitZone(limit),
      limit,
      reason: limitInWords(limit),
      probability: shares[k] ?? 0,
      ...windowDays(shapeOf([margins[k] as Margin]), input.cutOn),
    }),
  );
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

export function leftLengths(zones: readonly ZoneLeft[]): {
  leftMm: (zone: Zone) => number;
  leftSdMm: Float64Array;
} {
  const leftSdMm = new Float64Array(ZONES.length);
  const byZone = new Map<Zone, number>();
  for (const { zone, leftMm, leftSdMm: sd } of zones) {
    byZone.set(zone, requireNumber(leftMm, 'leftMm', 0, 2000));
    leftSdMm[ZONES.indexOf(zone)] = requireNumber(sd, 'leftSdMm', 0, 200);
  }
  return {
    leftSdMm,
    leftMm: (zone) => {
      const mm = byZone.get(zone);
      if (mm === undefined) {
        throw new EngineError(
          'ENGINE.IMPOSSIBLE',
          'zones',
          `A hold limit looks at the ${zone}, whose length is not given.`,
        );
      }
      return mm;
    },
  };
}

function windowDays(shape: ShapeSurvival, cutOn: string): WindowDays {
  const due = failureDay(shape, 0.5, 35);
  const exact = [failureDay(shape, 0.1, 0.8 * due), due, failureDay(shape, 0.9, 1.2 * due)];
  const days = exact.map((day) => Math.round(day));
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
