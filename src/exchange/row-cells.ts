import { DomainError, type FieldProblem } from '../base/index.js';
import type { ColumnMapping } from './guess-columns.js';
import { type DateOrder, readDate, readTime } from './read-date.js';
import type { ImportRecord } from './records.js';

const SHOWN = 60;

/** How a kind of sheet is read: whose columns are which, and what a date means. */
export type Reading = {
  readonly headings: readonly string[];
  readonly mapping: ColumnMapping;
  readonly dateOrder: DateOrder | null;
  /** Two digits of a year mean the latest such year up to this one. */
  readonly latestYear: number;
};

/** The cells of one row by what they stand for; gathers what is wrong, by the heading of the column. */
export class RowCells {
  readonly problems: FieldProblem[] = [];

  constructor(
    private readonly record: ImportRecord,
    private readonly reading: Reading,
  ) {}

  /** Empty where nothing was written or no column stands for it. */
  text(key: string): string {
    const column = this.reading.mapping[key];
    return column === undefined ? '' : (this.record.cells[column] ?? '').normalize('NFC').trim();
  }

  /** Heading of the column that stands for it; its own name where none does. */
  column(key: string): string {
    const column = this.reading.mapping[key];
    return column === undefined ? key : (this.reading.headings[column] ?? '') || `column ${column + 1}`;
  }

  /** 'YYYY-MM-DD'. */
  date(key: string, latestYear = this.reading.latestYear): string | undefined {
    const text = this.text(key);
    if (text === '') return undefined;
    const date = readDate(text, this.reading.dateOrder ?? undefined, latestYear);
    if (date !== undefined) return date;
    return this.wrong(key, `${shown(text)} is no date${this.orderWords()}. Write it like 1984-05-27.`);
  }

  /** 'HH:MM'. */
  time(key: string): string | undefined {
    const text = this.text(key);
    if (text === '') return undefined;
    return readTime(text) ?? this.wrong(key, `${shown(text)} is no time. Write it like 14:30.`);
  }

  wrong(key: string, words: string): undefined {
    this.problems.push({ field: this.column(key), message: `${this.column(key)}: ${words}` });
    return undefined;
  }

  /** What a room says of a field, by the heading of its column. */
  note(key: string, message: string): void {
    this.problems.push({ field: this.column(key), message });
  }

  /** Throws IMPORT.ROW with all that was found wrong. */
  requireNone(): void {
    if (this.problems.length === 0) return;
    const words = this.problems.map(({ message }) => message).join(' ');
    throw new DomainError('invalid', 'IMPORT.ROW', words, this.problems);
  }

  /** Turns a field as a room names it into the heading of its column. */
  renamed(error: DomainError): DomainError {
    const fields = error.fields.map(({ field, message }) => ({ field: this.column(field), message }));
    return new DomainError(error.kind, error.code, error.message, fields, error.details);
  }

  private orderWords(): string {
    const { dateOrder } = this.reading;
    if (dateOrder === null) return '';
    return dateOrder === 'day-first' ? ' when the day comes first' : ' when the month comes first';
  }
}

/** A cell as a message quotes it. */
export function shown(text: string): string {
  const signs = [...text.replace(/\s+/g, ' ')];
  return `“${signs.length > SHOWN ? `${signs.slice(0, SHOWN).join('')}…` : signs.join('')}”`;
}
