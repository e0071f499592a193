import type { EntityManager } from 'typeorm';
import { daysSql, mostSql, one } from './ask.js';
import { erasedOnSql } from './erased.js';
import { type Chart, type CurvePoint, type Figure, type FigureRow, interval, SMALL_GROUP } from './figure.js';
import { inOrder } from './in-order.js';
import { kaplanMeier, type Survival, stepAt, type TimeCount } from './kaplan-meier.js';
import { logRank } from './log-rank.js';
import { CUT_WORDS, cutKind, namesOf } from './names.js';
import type { CutBy, FigureScope } from './scope.js';
import { groupVisits } from './visit-groups.js';

/** Weeks at which the table reads the curve. */
const READ_WEEKS = [5, 8, 13] as const;
const MOST_CURVES = 5;
const DRAWN_DAYS = 182;

/**
 * Days from visit `x` to the next or, while there is none, for how long the client could be seen to come. Erased on the
 * day of the visit may in UTC be the day before.
 */
export const returnDaysSql = (manager: EntityManager): string =>
  mostSql(
    manager,
    '0',
    daysSql(manager, 'x."visitOn"', `COALESCE(x."nextOn", ${erasedOnSql(manager, 'x."clientId"')}, :today)`),
  );

/** Days from each visit to the next, or to today while there is none, with how many visits share them. */
export async function returnTimes(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
): Promise<Map<string, TimeCount[]>> {
  const rows = await groupVisits(manager, scope, by, {
    groups: { days: returnDaysSql(manager) },
    sums: { ended: one('x."nextOn" IS NOT NULL'), open: one('x."nextOn" IS NULL') },
    next: true,
  });
  const times = new Map<string, TimeCount[]>();
  for (const { key, days, ended, open } of rows) {
    const counts = times.get(key) ?? [];
    counts.push({ days, ended, open });
    times.set(key, counts);
  }
  return times;
}

/** The share that was back by a day, the other way round from survival. */
function backBy(curve: Survival, days: number): CurvePoint | undefined {
  if (days > curve.followedDays) return undefined;
  const step = stepAt(curve, days);
  const survival = step?.survival ?? 1;
  return { x: days, y: 1 - survival, low: 1 - (step?.high ?? survival), high: 1 - (step?.low ?? survival) };
}

function pointsOf(curve: Survival): CurvePoint[] {
  const shown = curve.steps.filter(({ days }) => days <= DRAWN_DAYS);
  const end = Math.min(DRAWN_DAYS, curve.followedDays);
  const points = [0, ...shown.map(({ days }) => days), end].flatMap((days) => backBy(curve, days) ?? []);
  return points.map((point) => ({ ...point, x: point.x / 7 }));
}

function cellsOf(curve: Survival) {
  const back = READ_WEEKS.map((weeks) => {
    const point = backBy(curve, weeks * 7);
    return [
      [`back${weeks}`, point?.y ?? null],
      [`low${weeks}`, point?.low ?? null],
      [`high${weeks}`, point?.high ?? null],
    ] as const;
  });
  return {
    of: curve.cases,
    open: curve.cases - curve.ended,
    median: curve.medianDays,
    // The curve of those who are not back yet falls: its lower band reaches one half first.
    medianLow: curve.medianLowDays,
    medianHigh: curve.medianHighDays,
    ...Object.fromEntries(back.flat()),
  };
}

function testWords(by: CutBy, groups: readonly { name: string; times: readonly TimeCount[] }[]): string {
  const [first, second] = groups;
  if (by === 'month' || groups.length !== 2 || !first || !second) return '';
  const test = logRank(first.times, second.times);
  if (!test) return '';
  const p = test.p < 0.001 ? 'p < 0.001' : `p = ${test.p.toFixed(3)}`;
  return ` Log-rank test of the two groups: χ² = ${test.chiSquared.toFixed(2)}, ${p}.`;
}

/** Time to return as Kaplan-Meier curves, one a group. */
export async function timeToReturnFigure(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy,
): Promise<Figure> {
  const times = await returnTimes(manager, scope, by);
  const nameOf = await namesOf(manager, by);
  const groups = [...times].map(([key, counts]) => {
    const curve = kaplanMeier(counts);
    return { key, name: nameOf(key), times: counts, curve, of: curve.cases };
  });
  const ordered = inOrder(by, groups, ({ curve }) => -(curve.medianDays ?? Number.POSITIVE_INFINITY));
  const all = kaplanMeier([...times.values()].flat());
  const rows: FigureRow[] = [
    { cells: { group: 'All', ...cellsOf(all) }, whole: true, small: all.cases < SMALL_GROUP },
    ...ordered.map(({ key, name, curve }) => ({
      cells: { group: by === 'month' ? key : name, ...cellsOf(curve) },
      small: curve.cases < SMALL_GROUP,
    })),
  ];
  const big = ordered.filter(({ of }) => of >= SMALL_GROUP);
  const drawn =
    by === 'month' || big.length > MOST_CURVES || big.length === 0 ? [{ name: 'All', curve: all }] : big;
  const chart: Chart = {
    kind: 'curves',
    x: 'Weeks since the visit',
    y: 'Back by then, %',
    curves: drawn.map(({ name, curve }) => ({ name, points: pointsOf(curve) })),
  };
  return {
    key: 'time-to-return',
    title: 'Time to the next visit',
    definition:
      'From each visit to the client’s next one on a later day, with anybody, by the method of Kaplan and Meier: a client who has not come again yet counts as ' +
      'still open for as long as she has been away, never as lost. Bands are 95 % (Greenwood, log-log).' +
      testWords(by, groups),
    caution:
      'Every visit counts by itself, so the bands take a client’s own visits for independent of each other and are a little too narrow. “–”: nobody has been followed that long, or half of them are not back.',
    columns: [
      { key: 'group', label: CUT_WORDS[by], kind: cutKind(by) },
      { key: 'of', label: 'Visits', kind: 'count' },
      { key: 'open', label: 'Not back yet', kind: 'count' },
      { key: 'median', label: 'Half are back after', kind: 'days' },
      ...interval('days', 'medianLow', 'medianHigh'),
      ...READ_WEEKS.flatMap((weeks) => [
        { key: `back${weeks}`, label: `Back by week ${weeks}`, kind: 'share' as const },
        ...interval('share', `low${weeks}`, `high${weeks}`),
      ]),
    ],
    rows,
    ...(all.cases > 0 && { chart }),
  };
}
