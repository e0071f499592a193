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
      return `COALESCE((SELECT f.name FROM visit p JOIN cut_formula f ON f.id = p."formulaId"
        WHERE p."clientId" = a."clientId" AND p."closedAt" < a."startsAt"
        ORDER BY p."visitOn" DESC, p."closedAt" DESC LIMIT 1), '')`;
  }
}

/** Appointments of the scope that have begun, counted by the database; `by` null puts all under one key ''. */
export async function groupAppointments<S extends string>(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
  sums: Readonly<Record<S, string>>,
  values: Readonly<Record<string, number>> = {},
): Promise<({ key: string } & Record<S, number>)[]> {
  const where = [
    'a."startsAt" >= :fromAt AND a."startsAt" < :now',
    ...(scope.salonId === null ? [] : ['a."salonId" = :salonId']),
    ...(scope.staffId === null ? [] : ['a."staffId" = :staffId']),
  ].join(' AND ');
  const columns = Object.entries<string>(sums).map(([name, sql]) => `, SUM(${sql}) AS "${name}"`);
  return await ask<{ key: string } & Record<S, number>>(
    manager,
    `SELECT a."key"${columns.join('')}
     FROM (SELECT a.state, a."cancelledAt", a."startsAt", ${keySql(by, scope)} AS "key" FROM ${over(manager, 'appointment a', scope)} WHERE ${where} ${fence(manager)}) a GROUP BY a."key"`,
    { ...scopeValues(scope), fromAt: dayBounds(scope.zone, scope.fromDate).startsAt, ...values },
    Object.keys(sums) as S[],
  );
}
