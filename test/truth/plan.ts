import { growthPrior, initialProfile } from '../../src/engine/growth/index.js';
import { rebookingWindow, reshapePath } from '../../src/engine/plan/index.js';
import type { TruthRow } from './row.js';

const profile = initialProfile(growthPrior());
/** Mean and spread of one zone's rate before any measurement: sqrt(0.06² + 0.028²). */
const RATE = 0.35;
const RATE_SD = Math.hypot(0.06, 0.028);
/** 90 % point of the standard normal distribution. */
const Z_90 = 1.2815515655446004;
const CUT_ON = '2026-03-02';

/** A single limit of `mm` after an exact cut fails by day T with the chance that the rate exceeds mm / T. */
function windows(): TruthRow[] {
  return [8, 14, 30].flatMap((mm): TruthRow[] => {
    const window = rebookingWindow({
      profile,
      cutOn: CUT_ON,
      zones: [{ zone: 'nape', leftMm: 10, leftSdMm: 0 }],
      limits: [{ kind: 'grown-by', zone: 'nape', mm }],
    });
    const source = `closed form: ${mm} / (0.35 + z √(0.06² + 0.028²)), whole days`;
    return [
      {
        what: `grown by ${mm} mm: earliest, days`,
        source,
        theirs: mm / (RATE + Z_90 * RATE_SD),
        ours: window.earliestDays,
        tolerance: 1,
      },
      { what: `grown by ${mm} mm: due, days`, source, theirs: mm / RATE, ours: window.dueDays, tolerance: 1 },
      {
        what: `grown by ${mm} mm: latest, days`,
        source,
        theirs: mm / (RATE - Z_90 * RATE_SD),
        ours: window.latestDays,
        tolerance: 1,
      },
    ];
  });
}

export function planTruths(): TruthRow[] {
  const path = reshapePath({
    profile,
    on: CUT_ON,
    zones: [{ zone: 'back', presentMm: 50, presentSdMm: 0, wantedMm: 200 }],
  });
  return [
    ...windows(),
    {
      what: 'growing out 150 mm: half are there after, days',
      source: 'arithmetic: 150 / 0.35',
      theirs: 150 / RATE,
      ours: path.ready50Days,
      tolerance: 1,
    },
    {
      what: 'growing out 150 mm: nine in ten are there after, days',
      source: 'closed form: 150 / (0.35 − 1.2816 √(0.06² + 0.028²))',
      theirs: 150 / (RATE - Z_90 * RATE_SD),
      ours: path.ready90Days,
      tolerance: 1,
    },
  ];
}
