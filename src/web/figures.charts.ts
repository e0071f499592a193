import * as Plot from '@observablehq/plot';
import { parseHTML } from 'linkedom';
import type { Chart } from '../reports/index.js';

type Curves = Extract<Chart, { kind: 'curves' }>;
type Shares = Extract<Chart, { kind: 'shares' }>;
type Bars = Extract<Chart, { kind: 'bars' }>;
type Weeks = Extract<Chart, { kind: 'weeks' }>;

/** How names and weeks are written beside a drawing. */
export type ChartWords = { readonly name: (name: string) => string; readonly week: (date: string) => string };

const { document } = parseHTML('<!doctype html><html><body></body></html>');

/** Narrow, so that its words stay readable when a phone makes it smaller. */
const WIDTH = 480;
const CHARACTER_WIDTH = 7.4;
const LONGEST_NAME = 26;

const cut = (name: string) =>
  name.length > LONGEST_NAME ? `${name.slice(0, LONGEST_NAME - 1).trimEnd()}…` : name;

/** Colours, dashes and type come from figures.css: the policy of our pages lets no style stand in the drawing itself. */
function drawn(options: Plot.PlotOptions, label: string): string {
  const plot = Plot.plot({
    document: document as unknown as NonNullable<Plot.PlotOptions['document']>,
    width: WIDTH,
    className: 'chart',
    ...options,
  });
  for (const style of [...plot.querySelectorAll('style')]) style.remove();
  // The whole drawing has one name; a name on a bare group is none (ARIA 1.2, prohibited naming).
  for (const group of [...plot.querySelectorAll('g[aria-label]')]) group.removeAttribute('aria-label');
  plot.setAttribute('role', 'img');
  plot.setAttribute('aria-label', label);
  plot.removeAttribute('font-size');
  plot.removeAttribute('font-family');
  return plot.outerHTML;
}

function curves({ x, y, curves: all }: Curves, label: string): string {
  const most = Math.max(...all.flatMap(({ points }) => points.map((point) => point.x)), 1);
  return drawn(
    {
      height: 300,
      marginLeft: 44,
      marginBottom: 40,
      x: { label: x, domain: [0, most], ticks: 8, labelAnchor: 'center', labelArrow: 'none' },
      y: { label: y, domain: [0, 100], grid: true, ticks: 5, labelArrow: 'none' },
      marks: all.flatMap(({ points }, i) => [
        Plot.areaY(points, {
          x: 'x',
          y1: ({ low }: { low: number }) => low * 100,
          y2: ({ high }: { high: number }) => high * 100,
          curve: 'step-after',
          className: `band series-${i + 1}`,
        }),
        Plot.line(points, {
          x: 'x',
          y: ({ y: share }: { y: number }) => share * 100,
          curve: 'step-after',
          className: `curve series-${i + 1}`,
        }),
      ]),
    },
    label,
  );
}

/** Small shares are drawn larger; the axis always starts at 0. */
function reach(rows: Shares['rows']): number {
  const most = Math.max(...rows.map(({ high }) => high * 100));
  return [10, 25, 50].find((end) => most <= end) ?? 100;
}

function shares({ x, rows }: Shares, words: ChartWords, label: string): string {
  const named = rows.map((row) => ({ ...row, name: cut(words.name(row.name)) }));
  const longest = Math.max(...named.map(({ name }) => name.length));
  return drawn(
    {
      height: 56 + 30 * named.length,
      marginLeft: Math.ceil(16 + longest * CHARACTER_WIDTH),
      marginBottom: 42,
      marginTop: 8,
      x: {
        label: x,
        domain: [0, reach(rows)],
        grid: true,
        ticks: 5,
        labelAnchor: 'center',
        labelArrow: 'none',
      },
      y: { label: null, domain: named.map(({ name }) => name), tickSize: 0 },
      marks: [
        Plot.ruleY(named, {
          y: 'name',
          x1: ({ low }: { low: number }) => low * 100,
          x2: ({ high }: { high: number }) => high * 100,
          className: 'range',
        }),
        Plot.dot(named, {
          x: ({ share }: { share: number }) => share * 100,
          y: 'name',
          r: 5,
          className: 'point',
        }),
      ],
    },
    label,
  );
}

function bars({ x, y, bars: all, mark }: Bars, label: string): string {
  return drawn(
    {
      height: 240,
      marginLeft: 52,
      marginBottom: 40,
      x: { label: x, labelAnchor: 'center', labelArrow: 'none', ticks: 6 },
      y: { label: y, grid: true, ticks: 4, labelArrow: 'none' },
      marks: [
        Plot.rectY(all, { x1: 'from', x2: 'to', y: 'height', inset: 0.5, className: 'bar-of' }),
        ...(mark === undefined ? [] : [Plot.ruleX([mark], { className: 'mark-at' })]),
        Plot.ruleY([0]),
      ],
    },
    label,
  );
}

function weeks({ y, weeks: all }: Weeks, words: ChartWords, label: string): string {
  const named = all.map((week) => ({ ...week, name: words.week(week.startsOn) }));
  return drawn(
    {
      height: 290,
      marginLeft: 44,
      marginBottom: 56,
      x: { label: null, domain: named.map(({ name }) => name), tickRotate: -45, padding: 0.25 },
      y: { label: y, grid: true, ticks: 5, zero: true, labelArrow: 'none' },
      marks: [
        Plot.barY(named, { x: 'name', y: 'expected', className: 'bar-of' }),
        Plot.ruleX(named, { x: 'name', y1: 'low', y2: 'high', className: 'range' }),
        Plot.tickY(named, { x: 'name', y: 'against', className: 'against' }),
        Plot.ruleY([0]),
      ],
    },
    label,
  );
}

/** A drawing as SVG to stand in a page; `label` is what a screen reader says of it, the table beside it says the rest. */
export function chartSvg(chart: Chart, words: ChartWords, label: string): string {
  switch (chart.kind) {
    case 'curves':
      return curves(chart, label);
    case 'shares':
      return shares(chart, words, label);
    case 'bars':
      return bars(chart, label);
    case 'weeks':
      return weeks(chart, words, label);
  }
}

/** What its lines and marks stand for; empty where there is nothing to tell apart. */
export function chartKey(chart: Chart): { readonly name: string; readonly sign: string }[] {
  if (chart.kind === 'curves' && chart.curves.length > 1) {
    return chart.curves.map(({ name }, i) => ({ name, sign: `curve series-${i + 1}` }));
  }
  if (chart.kind === 'weeks') {
    return [
      { name: chart.expected, sign: 'bar-of' },
      { name: chart.against, sign: 'against' },
    ];
  }
  return [];
}
