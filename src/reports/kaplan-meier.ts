/** How many cases ended on a day, and how many were last seen on it without having ended. */
export type TimeCount = { readonly days: number; readonly ended: number; readonly open: number };

/** A day on which something ended. Shares run from 0 to 1. */
export type SurvivalStep = {
  readonly days: number;
  readonly atRisk: number;
  readonly ended: number;
  /** Share that has not ended after this day. */
  readonly survival: number;
  /** Greenwood's standard error of `survival`; null once nobody is left. */
  readonly se: number | null;
  /** 95 % band on the log-log scale; null once nobody is left. */
  readonly low: number | null;
  readonly high: number | null;
};

export type Survival = {
  readonly cases: number;
  readonly ended: number;
  readonly steps: readonly SurvivalStep[];
  /** First day after which no more than half are left; null when that is not reached. */
  readonly medianDays: number | null;
  /** 95 % interval of the median from the same bands (Brookmeyer, Crowley 1982, Biometrics 38:29-41); null: open. */
  readonly medianLowDays: number | null;
  readonly medianHighDays: number | null;
  /** Longest time anybody was followed; the curve says nothing beyond. */
  readonly followedDays: number;
};

const Z_95 = 1.959963984540054;
/** Sums of products differ in the last digits; a survival of one half must count as one half. */
const ROUNDING = 1e-9;

/**
 * The product-limit estimate with right-censoring (Kaplan, Meier 1958, JASA 53:457-481), Greenwood's variance and 95 %
 * bands on the log-log scale, which stay between 0 and 1 (Kalbfleisch, Prentice 2002, section 1.4). Cases that are open
 * on a day on which others end are still at risk on it. `counts` may come in any order, several of a day too.
 */
export function kaplanMeier(counts: readonly TimeCount[]): Survival {
  const sorted = [...counts].sort((a, b) => a.days - b.days);
  const cases = sorted.reduce((sum, { ended, open }) => sum + ended + open, 0);
  const steps: SurvivalStep[] = [];
  let atRisk = cases;
  let survival = 1;
  let greenwood = 0;
  for (let i = 0; i < sorted.length; ) {
    const days = sorted[i]!.days;
    let ended = 0;
    let open = 0;
    for (; i < sorted.length && sorted[i]!.days === days; i += 1) {
      ended += sorted[i]!.ended;
      open += sorted[i]!.open;
    }
    if (ended > 0) {
      survival *= (atRisk - ended) / atRisk;
      greenwood += ended / (atRisk * (atRisk - ended));
      steps.push({ days, atRisk, ended, survival, ...band(survival, greenwood) });
    }
    atRisk -= ended + open;
  }
  const firstUnder = (of: (step: SurvivalStep) => number | null) =>
    steps.find((step) => (of(step) ?? 1) <= 0.5 + ROUNDING)?.days ?? null;
  return {
    cases,
    ended: steps.reduce((sum, step) => sum + step.ended, 0),
    steps,
    medianDays: firstUnder((step) => step.survival),
    medianLowDays: firstUnder((step) => step.low),
    medianHighDays: firstUnder((step) => step.high),
    followedDays: sorted.at(-1)?.days ?? 0,
  };
}

function band(survival: number, greenwood: number): Pick<SurvivalStep, 'se' | 'low' | 'high'> {
  if (survival <= 0) return { se: null, low: null, high: null };
  const half = (Z_95 * Math.sqrt(greenwood)) / Math.abs(Math.log(survival));
  return {
    se: survival * Math.sqrt(greenwood),
    low: survival ** Math.exp(half),
    high: survival ** Math.exp(-half),
  };
}

/** The last step up to a day: where the curve stands on it; undefined before the first, where all are left. */
export function stepAt({ steps }: Survival, days: number): SurvivalStep | undefined {
  let last: SurvivalStep | undefined;
  for (const step of steps) {
    if (step.days > days) break;
    last = step;
  }
  return last;
}
