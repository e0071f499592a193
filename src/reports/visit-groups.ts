import type { EntityManager } from 'typeorm';
import { isPostgres } from '../store/index.js';
import { ask, fence } from './ask.js';
import type { CutBy, FigureScope } from './scope.js';

/** The index that holds all that figures need of a visit, client by client; named so that SQLite can be told. */
export const VISIT_INDEX = 'visit_figures';

/** The day the client next came, on a later day than visit `v`; null while she has not. */
const NEXT_ON = `(SELECT n."visitOn" FROM visit n WHERE n."clientId" = v."clientId" AND n."visitOn" > v."visitOn"
  AND n."visitOn" <= :today ORDER BY n."visitOn" LIMIT 1)`;

const KEYS: Readonly<Record<Exclude<CutBy, 'shape'>, string>> = {
  stylist: 'v."staffId"',
  service: 'v."serviceId"',
  'first-time': `CASE WHEN EXISTS (SELECT 1 FROM visit p WHERE p."clientId" = v."clientId" AND p."visitOn" < v."visitOn")
    THEN 'returning' ELSE 'first' END`,
  salon: 'v."salonId"',
  month: 'substr(v."visitOn", 1, 7)',
};

function keySql(manager: EntityManager, by: CutBy | null): string {
  if (by === null) return `''`;
  if (by !== 'shape') return KEYS[by];
  // SQLite takes the key's own index by itself, which lacks the name.
  const named = isPostgres(manager) ? 'cut_formula f' : 'cut_formula f INDEXED BY "formula_names"';
  return `COALESCE((SELECT f.name FROM ${named} WHERE f.id = v."formulaId"), '')`;
}

/** Visits in the order of their clients, so that what is looked up about a client lies together. */
export function visitsByClient(manager: EntityManager): string {
  return isPostgres(manager) ? 'visit v' : `visit v INDEXED BY "${VISIT_INDEX}"`;
}

export function visitScope({ salonId, staffId }: FigureScope): string {
  return [
    'v."visitOn" BETWEEN :fromDate AND :today',
    ...(salonId === null ? [] : ['v."salonId" = :salonId']),
    ...(staffId === null ? [] : ['v."staffId" = :staffId']),
  ].join(' AND ');
}

export function scopeValues({ salonId, staffId, fromDate, today, now }: FigureScope) {
  return { salonId, staffId, fromDate, today, now };
}

/** What one asks of visits: expressions over `x`, the visit's columns, its `key` and, where asked for, `nextOn`. */
export type VisitQuestion<G extends string, S extends string> = {
  /** Further things to group by, as whole numbers. */
  readonly groups: Readonly<Record<G, string>>;
  /** Groups further by stylist or service and gives its id as `also`. */
  readonly also?: 'staffId' | 'serviceId';
  readonly sums: Readonly<Record<S, string>>;
  readonly where?: string;
  readonly next?: boolean;
};

/** Visits of the scope as a subquery with their `key` and, where asked for, `nextOn`. */
export function visitSource(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
  next: boolean,
): string {
  return `(
      SELECT v."clientId", v."visitOn", v."closedAt", v."dayEndsAt", v."priceMinor", v."staffId", v."serviceId", v."formulaId",
        v."suggestedDueOn", v."suggestedLatestOn", ${next ? NEXT_ON : 'NULL'} AS "nextOn",
        ${keySql(manager, by)} AS "key"
      FROM ${visitsByClient(manager)} WHERE ${visitScope(scope)} ${fence(manager)}
    )`;
}

/** Visits of the scope, counted by the database; `by` null puts all under one key ''. */
export async function groupVisits<G extends string, S extends string>(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
  { groups, sums, where, also, next = false }: VisitQuestion<G, S>,
): Promise<({ key: string; also: string } & Record<G | S, number>)[]> {
  const named = (parts: Readonly<Record<string, string>>, wrap: (sql: string) => string) =>
    Object.entries(parts).map(([name, sql]) => `, ${wrap(sql)} AS "${name}"`);
  const other = also === undefined ? `''` : `x."${also}"`;
  const groupList = [...(also === undefined ? [] : [other]), ...Object.values<string>(groups)].map(
    (sql) => `, ${sql}`,
  );
  const sql = `
    SELECT x."key", ${other} AS "also"${named(groups, (part) => part).join('')}${named(sums, (part) => `SUM(${part})`).join('')}
    FROM ${visitSource(manager, scope, by, next)} x
    ${where === undefined ? '' : `WHERE ${where}`}
    GROUP BY x."key"${groupList.join('')}`;
  const numbers = [...Object.keys(groups), ...Object.keys(sums)] as (G | S)[];
  return await ask<{ key: string; also: string } & Record<G | S, number>>(
    manager,
    sql,
    scopeValues(scope),
    numbers,
  );
}
