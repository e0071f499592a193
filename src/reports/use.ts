import type { EntityManager } from 'typeorm';
import { addDays, dayBounds } from '../base/index.js';
import {
  Closure,
  type LocalDay,
  localDays,
  OpeningHours,
  Resource,
  Staff,
  workingStretches,
  workingTime,
} from '../salon/index.js';
import { ask, over } from './ask.js';
import type { Cell, Figure, FigureRow } from './figure.js';
import { type FigureScope, monthSpans } from './scope.js';

const MINUTE_MS = 60_000;

/** Minutes worked (or open, for a chair) and minutes taken, of one stylist or of all chairs in one month. */
export type UseCounts = {
  readonly kind: 'stylist' | 'chair';
  /** Staff id; '' for the chairs. */
  readonly key: string;
  readonly month: string;
  readonly minutes: number;
  readonly taken: number;
};

type Taken = { readonly key: string; readonly month: string; readonly minutes: number };

/** By month and stylist or chair, over whole days: from `fromDate` to yesterday. One salon's. */
export async function useCounts(
  manager: EntityManager,
  scope: FigureScope & { readonly salonId: string },
): Promise<UseCounts[]> {
  const until = addDays(scope.today, -1);
  if (until < scope.fromDate) return [];
  const days = localDays(scope.zone, scope.fromDate, until);
  const staff = (await manager.findBy(Staff, { salonId: scope.salonId, cutsHair: true })).filter(
    ({ id }) => scope.staffId === null || id === scope.staffId,
  );
  const taken = [...(await bookedMinutes(manager, scope)), ...(await walkInMinutes(manager, scope))];
  const worked = await workedMinutes(
    manager,
    scope.salonId,
    staff.map(({ id }) => id),
    days,
  );
  const counts = cells('stylist', worked, taken);
  if (scope.staffId !== null) return counts;
  const chairs = await manager.findBy(Resource, { salonId: scope.salonId, kind: 'chair', active: true });
  if (chairs.length === 0) return counts;
  const open = (await openMinutes(manager, scope.salonId, days)).map((month) => ({
    ...month,
    minutes: month.minutes * chairs.length,
  }));
  return [...counts, ...cells('chair', open, await chairMinutes(manager, scope))];
}

function cells(kind: UseCounts['kind'], had: readonly Taken[], taken: readonly Taken[]): UseCounts[] {
  const counts = new Map<string, UseCounts>();
  const add = ({ key, month }: Taken, minutes: number, takenMinutes: number) => {
    const at = `${key}\n${month}`;
    const now = counts.get(at) ?? { kind, key, month, minutes: 0, taken: 0 };
    counts.set(at, { ...now, minutes: now.minutes + minutes, taken: now.taken + takenMinutes });
  };
  for (const part of had) add(part, part.minutes, 0);
  for (const part of taken) add(part, 0, part.minutes);
  return [...counts.values()];
}

async function workedMinutes(
  manager: EntityManager,
  salonId: string,
  staffIds: readonly string[],
  days: readonly LocalDay[],
): Promise<Taken[]> {
  if (staffIds.length === 0) return [];
  const working = await workingTime(manager, salonId, staffIds, days);
  return [...working].flatMap(([key, { stretches }]) => byMonth(key, stretches));
}

/** The door's hours, without the days the whole salon was shut. */
async function openMinutes(
  manager: EntityManager,
  salonId: string,
  days: readonly LocalDay[],
): Promise<Taken[]> {
  const hours = await manager.findBy(OpeningHours, { salonId });
  const shut = (await manager.findBy(Closure, { salonId })).filter(({ staffId }) => staffId === null);
  const week = hours.map(({ weekday, opensAt, closesAt }) => ({
    weekday,
    startsAt: opensAt,
    endsAt: closesAt,
  }));
  return byMonth('', workingStretches(days, week, shut));
}

function byMonth(
  key: string,
  stretches: readonly { date: string; startsAt: number; endsAt: number }[],
): Taken[] {
  return stretches.map(({ date, startsAt, endsAt }) => ({
    key,
    month: date.slice(0, 7),
    minutes: (endsAt - startsAt) / MINUTE_MS,
  }));
}

/**
 * Minutes that each of the holders, rows of `from` with the alias h, was held for in each month. Asked month by month, so
 * that an index gives every sum and nothing has to be sorted.
 */
async function heldMinutes(
  manager: EntityManager,
  scope: FigureScope,
  { from, claims, where, key }: Readonly<Record<'from' | 'claims' | 'where' | 'key', string>>,
): Promise<Taken[]> {
  const { salonId, staffId, zone, fromDate, today } = scope;
  const [fromAt, untilAt] = [dayBounds(zone, fromDate).startsAt, dayBounds(zone, today).startsAt];
  const months = monthSpans(zone, fromDate, today).map(
    ({ month, startsAt, endsAt }) =>
      `('${month}', ${Math.max(startsAt, fromAt)}, ${Math.min(endsAt, untilAt)})`,
  );
  const rows = await ask<{ key: string; month: string; minutes: number | null }>(
    manager,
    `WITH months("month", "startsAt", "endsAt") AS (VALUES ${months.join(', ')})
     SELECT ${key} AS "key", m."month" AS "month",
       (SELECT SUM(c."endsAt" - c."startsAt") FROM claim c
        WHERE c."${claims}" = h.id AND c."startsAt" >= m."startsAt" AND c."startsAt" < m."endsAt") / ${MINUTE_MS}.0 AS "minutes"
     FROM ${from} h CROSS JOIN months m WHERE h."salonId" = :salonId ${where}`,
    { salonId, staffId },
    ['minutes'],
  );
  return rows.flatMap(({ minutes, ...held }) => (minutes === null ? [] : [{ ...held, minutes }]));
}

/** What stylists' claims hold: the steps at which her hands are at work. */
async function bookedMinutes(manager: EntityManager, scope: FigureScope): Promise<Taken[]> {
  const where = scope.staffId === null ? '' : 'AND h.id = :staffId';
  return await heldMinutes(manager, scope, { from: 'staff', claims: 'staffId', where, key: 'h.id' });
}

/** Visits nobody had booked hold no claim: by the length of their service. */
async function walkInMinutes(manager: EntityManager, scope: FigureScope): Promise<Taken[]> {
  return await ask<Taken>(
    manager,
    `SELECT v."staffId" AS "key", substr(v."visitOn", 1, 7) AS "month", SUM(s.minutes) AS "minutes"
     FROM ${over(manager, 'visit v', scope)} JOIN service s ON s.id = v."serviceId"
     WHERE v."salonId" = :salonId AND v."appointmentId" IS NULL AND v."visitOn" >= :fromDate AND v."visitOn" < :today
       ${scope.staffId === null ? '' : 'AND v."staffId" = :staffId'}
     GROUP BY v."staffId", substr(v."visitOn", 1, 7)`,
    { salonId: scope.salonId, staffId: scope.staffId, fromDate: scope.fromDate, today: scope.today },
    ['minutes'],
  );
}

async function chairMinutes(manager: EntityManager, scope: FigureScope): Promise<Taken[]> {
  const where = "AND h.kind = 'chair'";
  return await heldMinutes(manager, scope, { from: 'resource', claims: 'resourceId', where, key: "''" });
}

function rowOf(group: string, counts: readonly UseCounts[], whole = false): FigureRow {
  const minutes = counts.reduce((sum, count) => sum + count.minutes, 0);
  const taken = counts.reduce((sum, count) => sum + count.taken, 0);
  const row: Record<string, Cell> = { group, taken, minutes, share: minutes === 0 ? null : taken / minutes };
  return { cells: row, whole };
}

function grouped(counts: readonly UseCounts[], of: (count: UseCounts) => string): Map<string, UseCounts[]> {
  const groups = new Map<string, UseCounts[]>();
  for (const count of counts) groups.set(of(count), [...(groups.get(of(count)) ?? []), count]);
  return groups;
}

/** How much of the time worked was booked: by stylist, by month, and of the chairs. */
export async function useFigures(
  manager: EntityManager,
  scope: FigureScope & { readonly salonId: string },
): Promise<Figure[]> {
  const counts = await useCounts(manager, scope);
  const stylists = counts.filter(({ kind }) => kind === 'stylist');
  const names = new Map(
    (await manager.findBy(Staff, { salonId: scope.salonId })).map(({ id, name }) => [id, name]),
  );
  const byStylist = [...grouped(stylists, ({ key }) => key)]
    .map(([key, own]) => ({ name: names.get(key) ?? key, own }))
    .sort((a, b) => a.name.localeCompare(b.name));
  const byMonths = (all: readonly UseCounts[]) =>
    [...grouped(all, ({ month }) => month)].sort(([a], [b]) => b.localeCompare(a));
  const columns = (label: string, kind: 'text' | 'month', had: string) =>
    [
      { key: 'group', label, kind },
      { key: 'taken', label: 'Booked', kind: 'minutes' },
      { key: 'minutes', label: had, kind: 'minutes' },
      { key: 'share', label: 'Used', kind: 'share' },
    ] as const;
  const definition =
    'Time held by appointments that were kept or still stand, and by visits nobody had booked (by the length of their service), divided by the time on the rota, up to yesterday. ' +
    'Where a service leaves the stylist free in between, that time is not hers; time of cancelled and missed appointments that nobody filled counts as not used.';
  const caution =
    'The rota is today’s, looked back at: of a week that was changed since, the new one counts.';
  const chairs = counts.filter(({ kind }) => kind === 'chair');
  return [
    {
      key: 'stylist-use',
      title: 'Stylists’ time used',
      definition,
      caution,
      columns: columns('Stylist', 'text', 'On the rota'),
      rows: [rowOf('All', stylists, true), ...byStylist.map(({ name, own }) => rowOf(name, own))],
    },
    {
      key: 'month-use',
      title: 'Stylists’ time used, by month',
      definition,
      columns: columns('Month', 'month', 'On the rota'),
      rows: byMonths(stylists).map(([month, own]) => rowOf(month, own)),
    },
    ...(chairs.length === 0
      ? []
      : [
          {
            key: 'chair-use',
            title: 'Chairs used',
            definition:
              'Time for which appointments held a chair, divided by the hours the door was open times the chairs there are now, up to yesterday.',
            columns: columns('Month', 'month', 'Open'),
            rows: [rowOf('All', chairs, true), ...byMonths(chairs).map(([month, own]) => rowOf(month, own))],
          } satisfies Figure,
        ]),
  ];
}
