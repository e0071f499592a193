import type { LengthUnit } from '../base/index.js';
import type { ColumnMapping } from './guess-columns.js';
import type { DateOrder } from './read-date.js';

/** What happens to a row whose client is here already. */
export const ON_DOUBLE = ['keep', 'fill', 'theirs', 'skip'] as const;
export type OnDouble = (typeof ON_DOUBLE)[number];

/** What happens to a row that shares a phone or mail with a client of another name: a family, or a slip. */
export const ON_SHARED = ['add', 'refuse'] as const;
export type OnShared = (typeof ON_SHARED)[number];

/** How a file is to be read and what is to be done with it. */
export type ImportSettings = {
  readonly mapping: ColumnMapping;
  /** Null: not known yet, or not needed. */
  readonly dateOrder: DateOrder | null;
  readonly onDouble: OnDouble;
  readonly onShared: OnShared;
  /** What bare numbers of length are in. */
  readonly units: LengthUnit;
  /** For rows that name no service or stylist. */
  readonly serviceId: string | null;
  readonly staffId: string | null;
  /** Books where the rota has no work. */
  readonly outsideRota: boolean;
};
