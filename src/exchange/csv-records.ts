import type { Readable } from 'node:stream';
import { type CsvError, parse } from 'csv-parse';
import { parse as parseAll } from 'csv-parse/sync';
import { DomainError } from '../base/index.js';
import { unguarded } from './read-values.js';
import { type ImportRecord, MOST_COLUMNS, MOST_RECORD_BYTES, type RecordSource } from './records.js';

/** RFC 4180, and what sheets do beside it: marks inside bare cells, rows that are too short or too long. */
const RELAXED = {
  relax_quotes: true,
  relax_column_count: true,
  skip_empty_lines: true,
  max_record_size: MOST_RECORD_BYTES,
} as const;

export const DELIMITERS = [',', ';', '\t', '|'] as const;
export type Delimiter = (typeof DELIMITERS)[number];

const SEPARATOR_LINE = /^sep=(.)\r?\n/;
const LOOKED_AT = 40;

/** The separator of a sheet by its first lines: the one that cuts most of them into equally many cells. */
export function guessDelimiter(head: string): Delimiter {
  const said = SEPARATOR_LINE.exec(head)?.[1];
  const named = DELIMITERS.find((delimiter) => delimiter === said);
  if (named) return named;
  let best: Delimiter = ',';
  let bestScore = 0;
  for (const delimiter of DELIMITERS) {
    const widths = widthsBy(head, delimiter);
    const [first = 1] = widths;
    const score = first > 1 ? widths.filter((width) => width === first).length * first : 0;
    if (score > bestScore) {
      best = delimiter;
      bestScore = score;
    }
  }
  return best;
}

function widthsBy(head: string, delimiter: string): number[] {
  try {
    const rows: string[][] = parseAll(head, { ...RELAXED, delimiter, to: LOOKED_AT, quote: '"' });
    return rows.map((row) => row.length);
  } catch {
    return [];
  }
}

/** Throws IMPORT.NOT_A_SHEET in words for what the parser cannot get over. */
function toldApart(error: unknown): unknown {
  const { code, message = '', lines } = error as Partial<CsvError> & { lines?: number };
  if (!code?.startsWith('CSV_')) return error;
  const where = typeof lines === 'number' ? ` near line ${lines}` : '';
  const words: Record<string, string> = {
    CSV_MAX_RECORD_SIZE: `A row${where} is far too long. A quotation mark (") there is never closed: close it or take it away.`,
    CSV_QUOTE_NOT_CLOSED: `The file ends inside a quotation mark (") that is never closed. Close it or take it away${where}.`,
    CSV_INVALID_CLOSING_QUOTE: `A quotation mark${where} stands where no cell ends. Double it ("") inside a cell.`,
  };
  return DomainError.invalid(
    'IMPORT.NOT_A_SHEET',
    'file',
    words[code] ?? `File: it cannot be read as a sheet${where} (${message}). Save it as CSV once more.`,
  );
}

type Parsed = { readonly record: string[]; readonly info: { records: number; empty_lines: number } };

/**
 * The rows of a CSV file, streamed. The first row is the heading row. Rows of nothing but blanks are passed over; a
 * row with other cells than the heading row says so. Throws IMPORT.NOT_A_SHEET, IMPORT.EMPTY, IMPORT.TOO_WIDE.
 */
export async function csvRecords(text: Readable, delimiter: Delimiter): Promise<RecordSource> {
  const parser = parse({ ...RELAXED, delimiter, info: true });
  text.on('error', (error) => parser.destroy(error));
  text.pipe(parser);
  const rows = parser[Symbol.asyncIterator]() as AsyncIterableIterator<Parsed>;
  const next = async (): Promise<Parsed | undefined> => {
    try {
      const { value, done } = await rows.next();
      return done ? undefined : value;
    } catch (error) {
      throw toldApart(error);
    }
  };
  let first = await next();
  if (first && /^sep=.?$/.test(first.record.join(''))) {
    first = await next();
  }
  const headings = (first?.record ?? []).map((heading) => heading.trim());
  if (headings.every((heading) => heading === '')) {
    throw DomainError.invalid('IMPORT.EMPTY', 'file', 'File: there is nothing in it. Choose another.');
  }
  if (headings.length > MOST_COLUMNS) {
    throw DomainError.invalid(
      'IMPORT.TOO_WIDE',
      'file',
      `File: it has ${headings.length} columns; ${MOST_COLUMNS} are the most. Leave out what is not needed.`,
    );
  }
  async function* records(): AsyncGenerator<ImportRecord> {
    try {
      for (let parsed = await next(); parsed; parsed = await next()) {
        const { record, info } = parsed;
        if (record.every((cell) => cell.trim() === '')) continue;
        const row = info.records + info.empty_lines;
        const cells = record.map(unguarded);
        const excess = record.slice(headings.length).some((cell) => cell.trim() !== '');
        yield excess
          ? {
              row,
              cells,
              problem: `This row has ${record.length} cells, the heading row ${headings.length}. Put cells that hold the separator into quotation marks.`,
            }
          : { row, cells };
      }
    } finally {
      text.destroy();
      parser.destroy();
    }
  }
  return { headings, records: records() };
}
