import type { EntityManager } from 'typeorm';
import { daysSql } from './ask.js';
import { type Chart, type Figure, type FigureRow, SMALL_GROUP } from './figure.js';
import { inOrder } from './in-order.js';
import { CUT_WORDS, cutKind, namesOf } from './names.js';
import type { CutBy, FigureScope } from './scope.js';
import { groupVisits } from './visit-groups.js';

/** So many returns came after `ratio` times the suggested interval. */
export type RatioCount = { readonly ratio: number; readonly count: number };

const BAR = 0.1;
const LAST_BAR_FROM = 2.4;

/** Visits `x` whose suggested window is over and whose client has come again. */
export const RATIO_COUNTS =
  'x."nextOn" IS NOT NULL AND x."suggestedDueOn" > x."visitOn" AND x."suggestedLatestOn" < :today';

/** The smallest ratio that at least the share `q` of the returns do not exceed; null without returns. */
export function ratioQuantile(ratios: readonly RatioCount[], q: number): number | null {
  const sorted = [...ratios].sort((a, b) => a.ratio - b.ratio);
  const wanted = q * sorted.reduce((sum, { count }) => sum + count, 0);
  let seen = 0;
  for (const { ratio, count } of sorted) {
    seen += count;
    if (seen >= wanted - 1e-9) return ratio;
  }
  return null;
}

/** Returns by how their interval compares with the suggested one, by group. */
export async function intervalRatios(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
): Promise<Map<string, RatioCount[]>> {
  const rows = await groupVisits(manager, scope, by, {
    groups: {
      days: daysSql(manager, 'x."visitOn"', 'x."nextOn"'),
      due: daysSql(manager, 'x."visitOn"', 'x."suggestedDueOn"'),
    },
    sums: { count: '1' },
    where: RATIO_COUNTS,
    next: true,
  });
  const ratios = new Map<string, RatioCount[]>();
  for (const { key, days, due, count } of rows) {
    const of = ratios.get(key);
    const ratio = { ratio: days / due, count };
    if (of) of.push(ratio);
    else ratios.set(key, [ratio]);
  }
  return ratios;
}

function barsOf(ratios: readonly RatioCount[]): Chart {
  const bars = Array.from({ length: Math.round(LAST_BAR_FROM / BAR) + 1 }, (_, i) => ({
    from: i * BAR,
    to: (i + 1) * BAR,
    height: 0,
  }));
  for (const { ratio, count } of ratios) {
    const bar = bars[Math.min(bars.length - 1, Math.floor(ratio / BAR + 1e-9))];
    if (bar) bar.height += count;
  }
  return { kind: 'bars', x: 'Actual ÷ suggested interval', y: 'Returns', bars, mark: 1 };
}

/** Actual ÷ suggested interval: its quartiles by group, its spread as a drawing. */
export async function intervalRatioFigure(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy,
): Promise<Figure> {
  const ratios = await intervalRatios(manager, scope, by);
  const nameOf = await namesOf(manager, by);
  const sum = (counts: readonly RatioCount[]) => counts.reduce((total, { count }) => total + count, 0);
  const groups = [...ratios].map(([key, counts]) => ({ key, name: nameOf(key), of: sum(counts), counts }));
  const all = groups.flatMap(({ counts }) => counts);
  const row = (name: string, counts: readonly RatioCount[], whole = false): FigureRow => ({
    cells: {
      group: name,
      of: sum(counts),
      quarter: ratioQuantile(counts, 0.25),
      median: ratioQuantile(counts, 0.5),
      threeQuarters: ratioQuantile(counts, 0.75),
    },
    small: sum(counts) < SMALL_GROUP,
    whole,
  });
  const ordered = inOrder(by, groups, ({ counts }) => -(ratioQuantile(counts, 0.5) ?? 0));
  return {
    key: 'interval-ratio',
    title: 'Actual ÷ suggested interval',
    definition:
      'Days until the client came again, divided by the days from the visit to the due date suggested then: 1 is on the day, 1.5 half as long again. ' +
      'Counted over visits whose suggested window is over by now and whose client has come again.',
    caution: 'Clients who have not come again are not in it: read it beside the time to the next visit.',
    columns: [
      { key: 'group', label: CUT_WORDS[by], kind: cutKind(by) },
      { key: 'of', label: 'Returns', kind: 'count' },
      { key: 'quarter', label: 'A quarter below', kind: 'decimal' },
      { key: 'median', label: 'Half below', kind: 'decimal' },
      { key: 'threeQuarters', label: 'Three quarters below', kind: 'decimal' },
    ],
    rows: [
      row('All', all, true),
      ...ordered.map(({ key, name, counts }) => row(by === 'month' ? key : name, counts)),
    ],
    ...(all.length > 0 && { chart: barsOf(all) }),
  };
}
