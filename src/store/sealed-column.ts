import { Column, type ColumnOptions, type ValueTransformer } from 'typeorm';
import { keyring } from './keyring.js';

/** Seals on the way into the database and opens on the way out. Empty stays empty. */
export class Sealing implements ValueTransformer {
  constructor(readonly place: string) {}

  to(value: unknown): unknown {
    return typeof value === 'string' && value !== '' ? keyring.seal(value, this.place) : value;
  }

  from(value: unknown): unknown {
    return typeof value === 'string' && value !== '' ? keyring.open(value, this.place) : value;
  }
}

/**
 * Free words that are encrypted at rest; `place` is "table.column". The database cannot search or compare them, and
 * an empty text shows that it is empty.
 */
export function SealedColumn(place: string, options: ColumnOptions = {}): PropertyDecorator {
  return Column({ type: 'text', transformer: new Sealing(place), ...options });
}
