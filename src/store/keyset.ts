import type { ObjectLiteral, SelectQueryBuilder } from 'typeorm';

/** What the last row of a page sorts by. */
export type Key = readonly (string | number)[];

export type PageAsked = {
  /** The last row of the page before; undefined: from the beginning. */
  readonly after?: Key | undefined;
  /** Rows at the most, 1 or more. */
  readonly limit: number;
};

export type Page<T> = {
  readonly rows: T[];
  /** Where the next page begins; null where there is none. */
  readonly next: Key | null;
};

/**
 * One page of a query by its sort columns, which together are unique: rows that are added or removed meanwhile move
 * nothing to another page, which counting rows would. All columns run the same way.
 */
export async function keysetPage<T extends ObjectLiteral>(
  query: SelectQueryBuilder<T>,
  columns: readonly (keyof T & string)[],
  direction: 'ASC' | 'DESC',
  { after, limit }: PageAsked,
): Promise<Page<T>> {
  const paths = columns.map((column) => `${query.alias}.${column}`);
  for (const path of paths) query.addOrderBy(path, direction);
  if (after) {
    const marks = columns.map((_, i) => `:after${i}`);
    query.andWhere(`(${paths.join(', ')}) ${direction === 'ASC' ? '>' : '<'} (${marks.join(', ')})`);
    query.setParameters(Object.fromEntries(after.map((value, i) => [`after${i}`, value])));
  }
  const found = await query.limit(limit + 1).getMany();
  const rows = found.slice(0, limit);
  const last = found.length > limit ? rows.at(-1) : undefined;
  return { rows, next: last ? columns.map((column) => last[column] as string | number) : null };
}
