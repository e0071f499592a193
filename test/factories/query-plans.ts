import type { DataSource, Logger } from 'typeorm';
import { isPostgres } from '../../src/store/index.js';

export type Query = { readonly sql: string; readonly values: readonly unknown[] };

const IS_ABOUT_ROWS = /^\s*(SELECT|UPDATE|DELETE|WITH)\b/i;

/** Every query over rows that these databases' connections are asked while `work` runs. */
export async function queriesOf(
  sources: readonly DataSource[],
  work: () => Promise<unknown>,
): Promise<Query[]> {
  const queries: Query[] = [];
  const logger: Logger = {
    logQuery: (sql, values = []) => {
      if (IS_ABOUT_ROWS.test(sql) && !sql.includes('pg_advisory')) queries.push({ sql, values });
    },
    logQueryError: () => undefined,
    logQuerySlow: () => undefined,
    logSchemaBuild: () => undefined,
    logMigration: () => undefined,
    log: () => undefined,
  };
  const before = sources.map(({ logger: own }) => own);
  for (const source of sources) source.setOptions({ logger });
  try {
    await work();
  } finally {
    sources.forEach((source, i) => {
      source.logger = before[i]!;
    });
  }
  return queries;
}

/**
 * Tables of `growing` that the database would look through from one end to the other to answer the query, by the
 * database's own plan. Reading an index in its order counts too, unless the query takes the first rows whatever they are.
 */
export async function scansOf(
  source: DataSource,
  { sql, values }: Query,
  growing: ReadonlySet<string>,
): Promise<string[]> {
  const stops = /\bLIMIT\b/i.test(sql) && !/\bWHERE\b/i.test(sql);
  const scans = isPostgres(source)
    ? postgresScans(await source.query(`EXPLAIN (FORMAT JSON) ${sql}`, [...values]))
    : sqliteScans(await source.query(`EXPLAIN QUERY PLAN ${sql}`, [...values]), sql);
  return scans
    .filter(({ table, inOrder }) => growing.has(table) && !(inOrder && stops))
    .map(({ table }) => table);
}

type Scan = { readonly table: string; readonly inOrder: boolean };

type PostgresNode = {
  readonly 'Node Type': string;
  readonly 'Relation Name'?: string;
  readonly 'Index Cond'?: string;
  readonly Plans?: readonly PostgresNode[];
};

function postgresScans(rows: readonly { 'QUERY PLAN': readonly { Plan: PostgresNode }[] }[]): Scan[] {
  const walk = (node: PostgresNode): Scan[] => {
    const type = node['Node Type'];
    const table = node['Relation Name'] ?? '';
    const byIndex = type === 'Index Scan' || type === 'Index Only Scan';
    const isScan = type === 'Seq Scan' || (byIndex && node['Index Cond'] === undefined);
    return [...(isScan ? [{ table, inOrder: byIndex }] : []), ...(node.Plans ?? []).flatMap(walk)];
  };
  return rows.flatMap((row) => row['QUERY PLAN'].flatMap(({ Plan }) => walk(Plan)));
}

/** Lines such as "SCAN Message" and "SCAN entry USING INDEX ..."; SQLite names the alias where there is one. */
function sqliteScans(rows: readonly { detail: string }[], sql: string): Scan[] {
  const aliases = new Map<string, string>();
  for (const [, table = '', alias = ''] of sql.matchAll(
    /(?:FROM|JOIN)\s+"?(\w+)"?\s+(?:AS\s+)?"?(\w+)"?/gi,
  )) {
    aliases.set(alias, table);
  }
  return rows.flatMap(({ detail }) => {
    const [, name, how] = /^SCAN (\w+)(.*)$/.exec(detail) ?? [];
    if (name === undefined) return [];
    return [{ table: aliases.get(name) ?? name, inOrder: how?.includes('USING') ?? false }];
  });
}
