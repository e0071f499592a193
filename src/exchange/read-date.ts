import { isDate } from '../base/index.js';

/** Which comes first where a date is written with numbers alone. */
export const DATE_ORDERS = ['day-first', 'month-first'] as const;
export type DateOrder = (typeof DATE_ORDERS)[number];

const MONTHS = [
  'january',
  'february',
  'march',
  'april',
  'may',
  'june',
  'july',
  'august',
  'september',
  'october',
  'november',
  'december',
];
const YEAR_FIRST = /^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$/;
const BASIC = /^(\d{4})(\d{2})(\d{2})$/;
const YEAR_LAST = /^(\d{1,2})[-/. ](\d{1,2})[-/. ](\d{4}|\d{2})$/;
const DAY_NAME = /^(?:[a-z]{2,9}\.?,?\s+)?/;
const DAY_MONTH_WORD = /^(\d{1,2})(?:st|nd|rd|th|\.)?[\s-]+(?:of\s+)?([a-z]{3,9})\.?,?[\s-]+(\d{4}|\d{2})$/;
const MONTH_WORD_DAY = /^([a-z]{3,9})\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4}|\d{2})$/;

/** Two digits of a year: the latest such year that is not after `latest`, a year of four digits. */
function wholeYear(text: string, latest: number): number {
  if (text.length === 4) return Number(text);
  const century = Math.floor(latest / 100) * 100;
  const year = century + Number(text);
  return year > latest ? year - 100 : year;
}

function dateText(year: number, month: number, day: number): string | undefined {
  const text = `${String(year).padStart(4, '0')}-${String(month).padStart(2, '0')}-${String(day).padStart(2, '0')}`;
  return isDate(text) ? text : undefined;
}

/** The two leading numbers of a date whose order has to be known; undefined for every other way of writing it. */
function numbersOf(text: string): { first: number; second: number; year: string } | undefined {
  const [, first, second, year] = YEAR_LAST.exec(text) ?? [];
  return first && second && year ? { first: Number(first), second: Number(second), year } : undefined;
}

/** What one written date says about its column. */
export function orderEvidence(text: string): DateOrder | 'either' | undefined {
  const numbers = numbersOf(dateOnly(text));
  if (!numbers) return undefined;
  const { first, second } = numbers;
  if (first > 12 && second <= 12) return 'day-first';
  if (second > 12 && first <= 12) return 'month-first';
  return first === second ? undefined : 'either';
}

/** The date of a text that may carry a time behind it. */
function dateOnly(text: string): string {
  return text
    .trim()
    .toLowerCase()
    .replace(
      /[t\s]+\d{1,2}[:.]\d{2}(?:[:.]\d{2}(?:\.\d+)?)?\s*(?:[ap]\.?m\.?)?\s*(?:z|[+-]\d{2}:?\d{2})?$/,
      '',
    );
}

/**
 * A date as people write it, to 'YYYY-MM-DD'; undefined when it is none. `order` says how numbers alone are read; the
 * year may come first (ISO 8601), the month may be an English word, and of a year of two digits the latest one up to
 * `latestYear` is meant.
 */
export function readDate(text: string, order: DateOrder | undefined, latestYear: number): string | undefined {
  const typed = dateOnly(text);
  const [, y, m, d] = YEAR_FIRST.exec(typed) ?? BASIC.exec(typed) ?? [];
  if (y && m && d) return dateText(Number(y), Number(m), Number(d));
  const numbers = numbersOf(typed);
  if (numbers) {
    const { first, second, year } = numbers;
    // Only one reading is a date: no need to know the order.
    const sure =
      first > 12 ? 'day-first' : second > 12 ? 'month-first' : first === second ? 'day-first' : order;
    if (sure === undefined || (order !== undefined && sure !== order && first !== second)) return undefined;
    const [day, month] = sure === 'day-first' ? [first, second] : [second, first];
    return dateText(wholeYear(year, latestYear), month, day);
  }
  const spoken = typed.replace(/^\d/.test(typed) ? /^$/ : DAY_NAME, (lead) =>
    monthOf(lead.replace(/[^a-z]/g, '')) > 0 ? lead : '',
  );
  const [, day, word, year] = DAY_MONTH_WORD.exec(spoken) ?? [];
  if (day && word && year) return named(word, day, year, latestYear);
  const [, word2, day2, year2] = MONTH_WORD_DAY.exec(spoken) ?? [];
  return word2 && day2 && year2 ? named(word2, day2, year2, latestYear) : undefined;
}

/** 1 to 12 for an English month or a beginning of it of three letters or more; 0 for any other word. */
function monthOf(word: string): number {
  return word.length < 3 ? 0 : MONTHS.findIndex((month) => month.startsWith(word)) + 1;
}

function named(word: string, day: string, year: string, latestYear: number): string | undefined {
  const month = monthOf(word);
  return month === 0 ? undefined : dateText(wholeYear(year, latestYear), month, Number(day));
}

/** A time of day as people write it, to 'HH:MM'; undefined when it is none. Seconds are dropped. */
export function readTime(text: string): string | undefined {
  const found = /^(\d{1,2})(?:[:.h](\d{2}))?(?:[:.]\d{2}(?:\.\d+)?)?\s*(?:([ap])\.?\s?m\.?)?$/.exec(
    text.trim().toLowerCase(),
  );
  if (!found) return undefined;
  const [, hours = '', minutes, half] = found;
  // A bare number is no time: it could be anything.
  if (minutes === undefined && half === undefined) return undefined;
  let hour = Number(hours);
  const minute = Number(minutes ?? 0);
  if (half !== undefined) {
    if (hour < 1 || hour > 12) return undefined;
    hour = (hour % 12) + (half === 'p' ? 12 : 0);
  }
  if (hour > 23 || minute > 59) return undefined;
  return `${String(hour).padStart(2, '0')}:${String(minute).padStart(2, '0')}`;
}

/** The time behind a date in one cell; undefined when there is none. */
export function timeBehind(text: string): string | undefined {
  const [, time] =
    /[t\s]+(\d{1,2}[:.]\d{2}(?:[:.]\d{2}(?:\.\d+)?)?\s*(?:[ap]\.?m\.?)?)$/i.exec(text.trim()) ?? [];
  return time === undefined ? undefined : readTime(time);
}
