/** One record of a file, as text cell by cell, whatever format it came in. */
export type ImportRecord = {
  /** Its row as a spreadsheet counts it, the heading row being 1; of cards and events, their own number. */
  readonly row: number;
  readonly cells: readonly string[];
  /** Why the format itself rules it out, in words with a remedy. */
  readonly problem?: string;
};

/** A file opened for reading: its headings, then its records one after the other. */
export type RecordSource = {
  readonly headings: readonly string[];
  readonly records: AsyncIterable<ImportRecord>;
};

/** No cell, card or event may be larger: one quotation mark that is never closed would swallow the whole file. */
export const MOST_RECORD_BYTES = 128 * 1024;
export const MOST_COLUMNS = 200;
