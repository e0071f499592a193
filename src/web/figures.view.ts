import {
  type Cell,
  type CellKind,
  type Column,
  currencyDigits,
  type Figure,
  type FigureRow,
} from '../reports/index.js';
import { chartKey, chartSvg } from './figures.charts.js';

export type FigureSetting = { readonly locale: string; readonly currency: string };

const NOTHING = '–';

export function monthWords(month: string, locale: string): string {
  return dateText(`${month}-01`, locale, { month: 'long', year: 'numeric' });
}

function dateText(date: string, locale: string, format: Intl.DateTimeFormatOptions): string {
  return new Intl.DateTimeFormat(locale, { ...format, timeZone: 'UTC' }).format(
    new Date(`${date}T00:00:00Z`),
  );
}

const IS_MONTH = /^\d{4}-\d{2}$/;

/** A cell as people read it. */
export function cellText(cell: Cell, kind: CellKind, { locale, currency }: FigureSetting): string {
  if (cell === null || cell === '') return NOTHING;
  if (typeof cell === 'string') {
    if (kind === 'month' && IS_MONTH.test(cell)) return monthWords(cell, locale);
    if (kind === 'date') return dateText(cell, locale, { day: 'numeric', month: 'short' });
    return cell;
  }
  switch (kind) {
    case 'share':
      return `${Math.round(cell * 100)} %`;
    case 'days':
      return `${cell} days`;
    case 'minutes':
      return `${new Intl.NumberFormat(locale, { maximumFractionDigits: 1, minimumFractionDigits: 1 }).format(cell / 60)} h`;
    case 'money':
      return new Intl.NumberFormat(locale, { style: 'currency', currency }).format(
        cell / 10 ** currencyDigits(currency),
      );
    case 'decimal':
      return new Intl.NumberFormat(locale, {
        minimumFractionDigits: Math.abs(cell) >= 10 ? 0 : 2,
        maximumFractionDigits: Math.abs(cell) >= 10 ? 0 : 2,
      }).format(cell);
    default:
      return new Intl.NumberFormat(locale).format(cell);
  }
}

function rangeText(row: FigureRow, low: Column, high: Column, setting: FigureSetting): string {
  const [from, to] = [row.cells[low.key] ?? null, row.cells[high.key] ?? null];
  if (from === null && to === null) return '';
  const text = (cell: Cell, column: Column) =>
    cell === null ? 'open' : cellText(cell, column.kind, setting).replace(/ (%|days)$/, '');
  return `${text(from, low)} to ${text(to, high)}`;
}

const isNumber = ({ kind }: Column): boolean => kind !== 'text' && kind !== 'date' && kind !== 'month';

/** A figure as its page shows it: intervals stand with what they belong to, and details are left to the CSV. */
export function figureView(figure: Figure, setting: FigureSetting) {
  const { columns } = figure;
  const shown = columns.flatMap((column, i) => {
    if (column.detail || column.interval) return [];
    const [low, high] = [columns[i + 1], columns[i + 2]];
    return [
      { column, range: low?.interval === 'low' && high?.interval === 'high' ? { low, high } : undefined },
    ];
  });
  const [first, ...others] = shown;
  const name = (text: string) => (IS_MONTH.test(text) ? monthWords(text, setting.locale) : text);
  const week = (date: string) => dateText(date, setting.locale, { day: 'numeric', month: 'short' });
  return {
    key: figure.key,
    title: figure.title,
    definition: figure.definition,
    how: figure.how,
    caution: figure.caution,
    chart:
      figure.chart &&
      chartSvg(figure.chart, { name, week }, `${figure.title}: the table beside it says the same.`),
    chartKey: figure.chart ? chartKey(figure.chart) : [],
    heads: others.map(({ column, range }) => ({
      label: column.label,
      number: isNumber(column),
      range: range && (range.low.label.startsWith('90') ? '90 % range' : '95 % range'),
    })),
    firstHead: first?.column.label,
    rows: figure.rows.map((row) => ({
      name: first ? cellText(row.cells[first.column.key] ?? null, first.column.kind, setting) : '',
      whole: row.whole,
      small: row.small,
      cells: others.map(({ column, range }) => ({
        text: cellText(row.cells[column.key] ?? null, column.kind, setting),
        number: isNumber(column),
        range: range && rangeText(row, range.low, range.high, setting),
      })),
    })),
    isEmpty: figure.rows.every(({ whole }) => whole),
  };
}
