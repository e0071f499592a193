import type { EntityManager } from 'typeorm';
import { dayBounds } from '../base/index.js';
import { ask, fence, over } from './ask.js';
import { type CutBy, type FigureScope, monthSpans, monthSql } from './scope.js';
import { scopeValues } from './visit-groups.js';

function keySql(by: CutBy | null, scope: FigureScope): string {
  switch (by) {
    case null:
      return `''`;
    case 'stylist':
      return 'a."staffId"';
    case 'service':
      return 'a."serviceId"';
    case 'salon':
      return 'a."salonId"';
    case 'month':
      return monthSql('a."startsAt"', monthSpans(scope.zone, scope.fromDate, scope.today));
    case 'first-time':
      return `CASE WHEN EXISTS (SELECT 1 FROM visit p WHERE p."clientId" = a."clientId" AND p."closedAt" < a."startsAt")
        THEN 'returning' ELSE 'first' END`;
    case 'shape':
      return `COALESCE((SELECT p.shape FROM visit p WHERE p."clientId" = a."clientId" AND p."closedAt" < a."startsAt" AND p.shape IS NOT NULL
        ORDER BY p."visitOn" DESC, p."closedAt" DESC LIMIT 1), '')`;
  }
}

/**
 * Appointments of the scope that have begun, counted by the database; `by` null puts all under one key ''. `groups`
 * parts them further, by whole numbers.
 */
export async function groupAppointments<S extends string, G extends string = never>(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
  sums: Readonly<Record<S, string>>,
  values: Readonly<Record<string, number>> = {},
  groups: Readonly<Record<G, string>> = {} as Record<G, string>,
): Promise<({ key: string } & Record<S | G, number>)[]> {
  const where = [
    'a."startsAt" >= :fromAt AND a."startsAt" < :now',
    ...(scope.salonId === null ? [] : ['a."salonId" = :salonId']),
    ...(scope.staffId === null ? [] : ['a."staffId" = :staffId']),
  ].join(' AND ');
  const worked = Object.entries<string>({ ...groups, ...sums }).map(([name, sql]) => `, ${sql} AS "${name}"`);
  const added = Object.keys(sums).map((name) => `, SUM(y."${name}") AS "${name}"`);
  const names = Object.keys(groups).map((name) => `y."${name}"`);
  const order = [...names, ...(by ? ['y."key"'] : [])];
  return await ask<{ key: string } & Record<S | G, number>>(
    manager,
    `SELECT ${by ? 'y."key"' : `'' AS "key"`}${names.map((name) => `, ${name}`).join('')}${added.join('')}
     FROM (SELECT ${keySql(by, scope)} AS "key"${worked.join('')}
       FROM ${over(manager, 'appointment a', scope)} WHERE ${where} ${fence(manager)}) y
     ${order.length === 0 ? '' : `GROUP BY ${order.join(', ')}`} HAVING COUNT(*) > 0`,
    { ...scopeValues(scope), fromAt: dayBounds(scope.zone, scope.fromDate).startsAt, ...values },
    [...Object.keys(groups), ...Object.keys(sums)] as (S | G)[],
  );
}
