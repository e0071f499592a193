import type { Proportion } from './wilson.js';

/** What a cell holds; `share` from 0 to 1, `money` in the currency's minor unit. */
export type CellKind =
  | 'text'
  | 'date'
  | 'month'
  | 'count'
  | 'decimal'
  | 'days'
  | 'minutes'
  | 'share'
  | 'money';
export type Cell = string | number | null;

export type Column = {
  readonly key: string;
  readonly label: string;
  readonly kind: CellKind;
  /** Left out of the page's table, for its width. */
  readonly detail?: boolean;
  /** End of an interval of the column before: shown with it on the page. */
  readonly interval?: 'low' | 'high';
};

/** The two ends of an interval around the column before. */
export const interval = (kind: CellKind, low: string, high: string, percent = 95): Column[] => [
  { key: low, label: `${percent} % from`, kind, interval: 'low' },
  { key: high, label: `${percent} % to`, kind, interval: 'high' },
];

export type FigureRow = {
  readonly cells: Readonly<Record<string, Cell>>;
  /** Fewer than SMALL_GROUP cases: shown as such, never ranked. */
  readonly small?: boolean;
  /** Sums up the rows after it. */
  readonly whole?: boolean;
};

export type CurvePoint = {
  readonly x: number;
  readonly y: number;
  readonly low: number;
  readonly high: number;
};

/** What is drawn beside a table, from the same numbers. */
export type Chart =
  | {
      readonly kind: 'curves';
      readonly x: string;
      readonly y: string;
      readonly curves: readonly { readonly name: string; readonly points: readonly CurvePoint[] }[];
    }
  | {
      readonly kind: 'shares';
      readonly x: string;
      readonly rows: readonly ({ readonly name: string } & Pick<Proportion, 'share' | 'low' | 'high'>)[];
    }
  | {
      readonly kind: 'bars';
      readonly x: string;
      readonly y: string;
      readonly bars: readonly { readonly from: number; readonly to: number; readonly height: number }[];
      readonly mark?: number;
    }
  | {
      readonly kind: 'weeks';
      readonly y: string;
      /** What the two series are called. */
      readonly expected: string;
      readonly against: string;
      readonly weeks: readonly WeekBar[];
    };

export type WeekBar = {
  /** Monday. */
  readonly startsOn: string;
  readonly expected: number;
  readonly low: number;
  readonly high: number;
  /** What the rota gives, or what came. */
  readonly against: number;
};

/** One figure with its definition in plain words, as the page, the API and the CSV show it. */
export type Figure = {
  /** Stable; names the CSV. */
  readonly key: string;
  readonly title: string;
  readonly definition: string;
  /** How it is worked out, where that takes more than a definition. */
  readonly how?: string;
  /** What must be known before believing it. */
  readonly caution?: string;
  readonly columns: readonly Column[];
  readonly rows: readonly FigureRow[];
  readonly chart?: Chart;
};

/** Below this a share says next to nothing about a person or a service. */
export const SMALL_GROUP = 10;

/** The columns of a share with its interval. */
export const shareColumns = (of: string, count: string): Column[] => [
  { key: 'share', label: 'Share', kind: 'share' },
  ...interval('share', 'low', 'high'),
  { key: 'count', label: count, kind: 'count' },
  { key: 'of', label: of, kind: 'count' },
];

/** A share's cells; without any case it is no share at all. */
export function shareCells({ count, of, share, low, high }: Proportion): Record<string, Cell> {
  return of === 0 ? { count, of, share: null, low: null, high: null } : { count, of, share, low, high };
}
