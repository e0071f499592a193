import { Column, type ColumnOptions, PrimaryColumn, VersionColumn } from 'typeorm';
import { newId } from './ids.js';

/** PostgreSQL hands 64-bit integers back as text; an epoch in milliseconds fits a double exactly. */
const bigintAsNumber = {
  to: (value: unknown) => value,
  from: (value: unknown) => (value === null || value === undefined ? value : Number(value)),
};

/** UUID v7 key, made by us so that a row can be named before it is written. */
export function IdColumn(): PropertyDecorator {
  return PrimaryColumn({ type: 'varchar', length: 36 });
}

/** Reference to another row's id. */
export function RefColumn(options: ColumnOptions = {}): PropertyDecorator {
  return Column({ type: 'varchar', length: 36, ...options });
}

/** Instant in UTC, whole milliseconds since 1970; integer on every database, so ranges compare alike. */
export function InstantColumn(options: ColumnOptions = {}): PropertyDecorator {
  return Column({ type: 'bigint', transformer: bigintAsNumber, ...options });
}

/** Calendar date without a zone, 'YYYY-MM-DD'. */
export function DateColumn(options: ColumnOptions = {}): PropertyDecorator {
  return Column({ type: 'varchar', length: 10, ...options });
}

/** Wall-clock time without a date, 'HH:MM'. */
export function TimeColumn(options: ColumnOptions = {}): PropertyDecorator {
  return Column({ type: 'varchar', length: 5, ...options });
}

/** Length in millimetres. */
export function MmColumn(options: ColumnOptions = {}): PropertyDecorator {
  return Column({ type: 'double precision', ...options });
}

/** Short text with a bound that validation repeats. */
export function TextColumn(length: number, options: ColumnOptions = {}): PropertyDecorator {
  return Column({ type: 'varchar', length, ...options });
}

/** Free words, bounded by validation only. */
export function WordsColumn(options: ColumnOptions = {}): PropertyDecorator {
  return Column({ type: 'text', ...options });
}

export function IntColumn(options: ColumnOptions = {}): PropertyDecorator {
  return Column({ type: 'integer', ...options });
}

export function FlagColumn(options: ColumnOptions = {}): PropertyDecorator {
  return Column({ type: 'boolean', ...options });
}

/** Structured value kept whole and never searched inside. */
export function JsonColumn(options: ColumnOptions = {}): PropertyDecorator {
  return Column({ type: 'simple-json', ...options });
}

/** A row with our own id. */
export abstract class Row {
  @IdColumn()
  id: string = newId();
}

/** A row that people edit: a second editor with an older version is refused, not overwritten. */
export abstract class EditableRow extends Row {
  @VersionColumn({ type: 'integer' })
  version: number;
}
