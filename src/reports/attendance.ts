import type { EntityManager } from 'typeorm';
import { dayBounds } from '../base/index.js';
import { groupAppointments } from './appointment-groups.js';
import { ask, fence, one, over } from './ask.js';
import { type Figure, SMALL_GROUP, shareCells, shareColumns } from './figure.js';
import type { CutBy, FigureScope } from './scope.js';
import { type Counted, sharesFigure } from './shares.js';
import { scopeValues } from './visit-groups.js';
import { wilson } from './wilson.js';

const HOUR_MS = 3_600_000;

const LATE = `a.state = 'cancelled' AND a."cancelledAt" > a."startsAt" - :noticeMs`;
/** Appointments that stood when the notice ran out and whose outcome is known. */
const STOOD = `a.state IN ('arrived', 'done', 'no-show') OR (${LATE})`;

export type AttendanceCounts = {
  readonly key: string;
  readonly of: number;
  readonly noShows: number;
  readonly late: number;
};

/** What is summed over appointments for them, and the values it needs. */
export const attendanceSql = (noticeHours: number) => ({
  sums: { of: one(STOOD), noShows: one(`a.state = 'no-show'`), late: one(LATE) },
  values: { noticeMs: noticeHours * HOUR_MS },
});

/** No-shows and late cancellations among appointments that stood; `noticeHours` parts late from early. */
export function attendanceCounts(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
  noticeHours: number,
): Promise<AttendanceCounts[]> {
  const { sums, values } = attendanceSql(noticeHours);
  return groupAppointments(manager, scope, by, sums, values);
}

export async function attendanceFigures(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy,
  noticeHours: number,
): Promise<Figure[]> {
  const counts = await attendanceCounts(manager, scope, by, noticeHours);
  const base =
    'Counted over appointments whose time has come and whose outcome is recorded, without those cancelled in good time.';
  const of = (pick: (counts: AttendanceCounts) => number): Counted[] =>
    counts.map((group) => ({ key: group.key, of: group.of, count: pick(group) }));
  const shapeNote =
    by === 'shape' ? { caution: 'Shape: the one the client wore when the appointment came.' } : {};
  return [
    await sharesFigure(
      manager,
      by,
      of(({ noShows }) => noShows),
      {
        key: 'no-shows',
        title: 'No-shows',
        definition: `The client neither came nor cancelled. ${base}`,
        of: 'Appointments',
        count: 'No-shows',
        ...shapeNote,
      },
    ),
    await sharesFigure(
      manager,
      by,
      of(({ late }) => late),
      {
        key: 'late-cancellations',
        title: 'Late cancellations',
        definition: `Cancelled with less than ${noticeHours} hours’ notice. ${base}`,
        of: 'Appointments',
        count: 'Late',
        ...shapeNote,
      },
    ),
  ];
}

const REMINDED = {
  sent: 'Reminder sent',
  unsent: 'Reminder owed but not sent',
  none: 'No reminder owed',
} as const;

/** Appointments that stood and those missed (no-show or late cancellation), by what became of their reminder. */
export async function reminderCounts(
  manager: EntityManager,
  scope: FigureScope,
  noticeHours: number,
): Promise<(Counted & { readonly key: keyof typeof REMINDED })[]> {
  const where = [
    `a."startsAt" >= :fromAt AND a."startsAt" < :now AND (${STOOD})`,
    ...(scope.salonId === null ? [] : ['a."salonId" = :salonId']),
    ...(scope.staffId === null ? [] : ['a."staffId" = :staffId']),
  ].join(' AND ');
  const best = `(SELECT MAX(CASE WHEN m.state = 'sent' AND m."sentAt" < a."startsAt" THEN 2 ELSE 1 END) FROM message m
    WHERE m."appointmentId" = a.id AND m.kind = 'appointment-reminder')`;
  return await ask<Counted & { readonly key: keyof typeof REMINDED }>(
    manager,
    `SELECT CASE x.best WHEN 2 THEN 'sent' WHEN 1 THEN 'unsent' ELSE 'none' END AS "key",
       COUNT(*) AS "of", SUM(x.missed) AS "count"
     FROM (SELECT ${one(`a.state IN ('no-show', 'cancelled')`)} AS missed, ${best} AS best
           FROM ${over(manager, 'appointment a', scope)} WHERE ${where} ${fence(manager)}) x
     GROUP BY CASE x.best WHEN 2 THEN 'sent' WHEN 1 THEN 'unsent' ELSE 'none' END`,
    {
      ...scopeValues(scope),
      fromAt: dayBounds(scope.zone, scope.fromDate).startsAt,
      noticeMs: noticeHours * HOUR_MS,
    },
    ['of', 'count'],
  );
}

/** Missed appointments with and without a reminder. */
export async function reminderFigure(
  manager: EntityManager,
  scope: FigureScope,
  noticeHours: number,
): Promise<Figure> {
  const counts = await reminderCounts(manager, scope, noticeHours);
  const groups = Object.entries(REMINDED).flatMap(([key, name]) => {
    const group = counts.find((candidate) => candidate.key === key);
    return group ? [{ name, share: wilson(group.count, group.of) }] : [];
  });
  const drawn = groups.filter(({ share }) => share.of >= SMALL_GROUP);
  return {
    key: 'reminders',
    title: 'Missed appointments with and without a reminder',
    definition: `No-shows and cancellations with less than ${noticeHours} hours’ notice, by whether a reminder had gone out before the appointment.`,
    caution:
      'No experiment: who gets no reminder has given no address, wants none, or booked at short notice, and such clients may miss appointments more or less often anyway.',
    columns: [{ key: 'group', label: 'Reminder', kind: 'text' }, ...shareColumns('Appointments', 'Missed')],
    rows: groups.map(({ name, share }) => ({
      cells: { group: name, ...shareCells(share) },
      small: share.of < SMALL_GROUP,
    })),
    ...(drawn.length > 0 && {
      chart: {
        kind: 'shares' as const,
        x: 'Missed, % of appointments',
        rows: drawn.map(({ name, share }) => ({ name, ...share })),
      },
    }),
  };
}
