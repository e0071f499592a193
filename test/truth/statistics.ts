import { gaussHermite, normalCdf, normalQuantile } from '../../src/engine/stats/index.js';
import { kaplanMeier, type TimeCount } from '../../src/reports/kaplan-meier.js';
import { logRank } from '../../src/reports/log-rank.js';
import { wilson } from '../../src/reports/wilson.js';
import type { TruthRow } from './row.js';

const cases = (ended: readonly number[], open: readonly number[] = []): TimeCount[] => [
  ...ended.map((days) => ({ days, ended: 1, open: 0 })),
  ...open.map((days) => ({ days, ended: 0, open: 1 })),
];
const FREIREICH = 'Freireich et al. 1963, Blood 21:699-716';
const TREATED = cases([6, 6, 6, 7, 10, 13, 16, 22, 23], [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]);
const PLACEBO = cases([1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]);
const CURVE = [
  [6, 0.8571, 0.0764],
  [7, 0.8067, 0.0869],
  [10, 0.7529, 0.0963],
  [13, 0.6902, 0.1068],
  [16, 0.6275, 0.1141],
  [22, 0.5378, 0.1282],
  [23, 0.4482, 0.1346],
] as const;

const NEWCOMBE = [
  [81, 263, 0.2553, 0.3662],
  [15, 148, 0.0624, 0.1605],
  [0, 20, 0, 0.1611],
  [1, 29, 0.0061, 0.1718],
] as const;

/** To the digits printed. */
const PRINTED = 0.00005 + 1e-12;

export function statisticsTruths(): TruthRow[] {
  const { steps, medianDays } = kaplanMeier(TREATED);
  const handbook = 'Abramowitz, Stegun 1964';
  return [
    ...CURVE.flatMap(([week, survival, se], i): TruthRow[] => [
      {
        what: `Kaplan-Meier, week ${week}: not ended`,
        source: FREIREICH,
        theirs: survival,
        ours: steps[i]?.survival ?? Number.NaN,
        tolerance: PRINTED,
      },
      {
        what: `Kaplan-Meier, week ${week}: Greenwood's error`,
        source: FREIREICH,
        theirs: se,
        ours: steps[i]?.se ?? Number.NaN,
        tolerance: PRINTED,
      },
    ]),
    {
      what: 'median, 6-MP, weeks',
      source: FREIREICH,
      theirs: 23,
      ours: medianDays ?? Number.NaN,
      tolerance: 0,
    },
    {
      what: 'median, placebo, weeks',
      source: FREIREICH,
      theirs: 8,
      ours: kaplanMeier(PLACEBO).medianDays ?? Number.NaN,
      tolerance: 0,
    },
    {
      what: 'log-rank test of both, chi-squared',
      source: FREIREICH,
      theirs: 16.793,
      ours: logRank(TREATED, PLACEBO)?.chiSquared ?? Number.NaN,
      tolerance: 0.0005,
    },
    ...NEWCOMBE.flatMap(([count, of, low, high]): TruthRow[] => {
      const source = 'Newcombe 1998, Stat Med 17:857-872, table I, method 3';
      const share = wilson(count, of);
      return [
        {
          what: `Wilson 95 %, ${count} of ${of}: from`,
          source,
          theirs: low,
          ours: share.low,
          tolerance: PRINTED,
        },
        {
          what: `Wilson 95 %, ${count} of ${of}: to`,
          source,
          theirs: high,
          ours: share.high,
          tolerance: PRINTED,
        },
      ];
    }),
    {
      what: 'normal distribution at 1',
      source: `${handbook}, table 26.1`,
      theirs: 0.841344746068543,
      ours: normalCdf(1),
      tolerance: 1e-13,
    },
    {
      what: 'its 95 % point',
      source: 'any table of the normal distribution',
      theirs: 1.6448536269514722,
      ours: normalQuantile(0.95),
      tolerance: 1e-12,
    },
    {
      what: 'largest of five Gauss-Hermite nodes',
      source: `${handbook}, table 25.10`,
      theirs: 2.020182870456086 * Math.SQRT2,
      ours: Math.max(...gaussHermite(5).nodes),
      tolerance: 1e-12,
    },
  ];
}
