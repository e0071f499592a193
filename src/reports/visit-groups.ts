import type { EntityManager } from 'typeorm';
import { isPostgres } from '../store/index.js';
import { ask, fence, isReadWhole } from './ask.js';
import type { CutBy, FigureScope } from './scope.js';

/** The day the client next came, on a later day than visit `v`; null while she has not. */
const NEXT_ON = 'CASE WHEN v."nextOn" <= :today THEN v."nextOn" END';

/** What a visit `v` is counted under. */
const KEYS: Readonly<Record<CutBy, string>> = {
  stylist: 'v."staffId"',
  service: 'v."serviceId"',
  shape: `COALESCE(v.shape, '')`,
  'first-time': `CASE WHEN v."firstOn" < v."visitOn" THEN 'returning' ELSE 'first' END`,
  salon: 'v."salonId"',
  month: 'substr(v."visitOn", 1, 7)',
};

export const keySql = (by: CutBy | null): string => (by === null ? `''` : KEYS[by]);

/** Visits day by day, with all that figures count by. */
const visitsByDay = (manager: EntityManager): string =>
  isPostgres(manager) ? 'visit v' : 'visit v INDEXED BY "visit_days"';

/** Visits of a scope that look up other rows of their clients: over a long time in the order of the clients. */
export const visitsByClient = (
  manager: EntityManager,
  scope: Pick<FigureScope, 'fromDate' | 'today'>,
): string => (isReadWhole(manager, scope) ? `visit v INDEXED BY "visit_figures"` : 'visit v');

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
  /** Further things to group by: whole numbers from 0 to 65 535, two at most. */
  readonly groups: Readonly<Record<G, string>>;
  /** Groups further by stylist or service and gives its id as `also`. */
  readonly also?: 'staffId' | 'serviceId';
  readonly sums: Readonly<Record<S, string>>;
  readonly where?: string;
  readonly next?: boolean;
  /** Whether each visit looks up other rows of its client. */
  readonly looksUp?: boolean;
};

/** Visits of the scope as a subquery with their `key` and, where asked for, `nextOn`. */
export function visitSource(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
  { next = false, looksUp = false }: { readonly next?: boolean; readonly looksUp?: boolean },
): string {
  return `(
      SELECT v."clientId", v."visitOn", v."closedAt", v."dayEndsAt", v."priceMinor", v."staffId", v."serviceId", v."formulaId",
        v."suggestedDueOn", v."suggestedLatestOn", ${next ? NEXT_ON : 'NULL'} AS "nextOn",
        ${keySql(by)} AS "key"
      FROM ${looksUp ? visitsByClient(manager, scope) : visitsByDay(manager)} WHERE ${visitScope(scope)}
    )`;
}

const BASE = 65_536;

/** Visits of the scope, counted by the database; `by` null puts all under one key ''. */
export async function groupVisits<G extends string, S extends string>(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
  { groups, sums, where, also, ...source }: VisitQuestion<G, S>,
): Promise<({ key: string; also: string } & Record<G | S, number>)[]> {
  const asked = Object.entries<string>(groups);
  // As the digits of one number: a single whole number is by far the quickest to sort by.
  const digits = asked.map(([, sql], i) => `(${sql}) * ${BASE ** i}`).join(' + ');
  const worked = [
    ...(by ? ['x."key"'] : []),
    ...(also ? [`x."${also}"`] : []),
    ...(asked.length > 0 ? [`${digits} AS digits`] : []),
    ...Object.entries<string>(sums).map(([name, sql]) => `${sql} AS "${name}"`),
  ];
  const added = Object.entries<string>(sums).map(([name, sql]) =>
    sql === '1' ? `COUNT(*) AS "${name}"` : `SUM(y."${name}") AS "${name}"`,
  );
  // All is worked out before anything is sorted, and what is the same for all stays out of the order: sorting is most
  // of the work.
  const order = [
    ...(asked.length > 0 ? ['y.digits'] : []),
    ...(also ? [`y."${also}"`] : []),
    ...(by ? ['y."key"'] : []),
  ];
  const sql = `
    SELECT ${by ? 'y."key"' : `'' AS "key"`}, ${also ? `y."${also}"` : `''`} AS "also",
      ${[asked.length > 0 ? 'y.digits' : '0 AS digits', ...added].join(', ')}
    FROM (SELECT ${worked.join(', ')}
      FROM ${visitSource(manager, scope, by, source)} x ${where === undefined ? '' : `WHERE ${where}`} ${fence(manager)}) y
    ${order.length === 0 ? '' : `GROUP BY ${order.join(', ')}`} HAVING COUNT(*) > 0`;
  const rows = await ask<{ key: string; also: string; digits: number } & Record<S, number>>(
    manager,
    sql,
    scopeValues(scope),
    ['digits', ...(Object.keys(sums) as S[])],
  );
  return rows.map(({ digits: packed, ...row }) => {
    const numbers = asked.map(([name], i) => [name, Math.floor(packed / BASE ** i) % BASE]);
    return { ...row, ...Object.fromEntries(numbers) };
  });
}
