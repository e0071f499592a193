import type { EntityManager } from 'typeorm';
import { addDays, dayBounds } from '../base/index.js';
import { localDays, type Salon, Staff, USUAL_NOTICE_HOURS, workingTime } from '../salon/index.js';
import { groupAppointments } from './appointment-groups.js';
import { ask, daysSql, one } from './ask.js';
import { type AttendanceCounts, attendanceSql } from './attendance.js';
import type { DemandClient, DemandHabits } from './demand.js';
import { RATIO_COUNTS, type RatioCount, ratioQuantile } from './interval-ratio.js';
import { kaplanMeier, stepAt, type TimeCount } from './kaplan-meier.js';
import type { FigureScope } from './scope.js';
import { returnDaysSql } from './time-to-return.js';
import { groupVisits } from './visit-groups.js';

/** From which day a forecast looks ahead, and up to which instant bookings are known to it. */
export type DemandView = {
  readonly salon: Pick<Salon, 'id' | 'zone' | 'cancelNoticeHours'>;
  readonly on: string;
  readonly knownAt: number;
  /** Whether `on` is today: then the windows as they stand now count, else those suggested at checkout. */
  readonly live: boolean;
};

/** Windows older than this are given up; habits are taken from as long as a year. */
const HISTORY_DAYS = 730;
const HABIT_DAYS = 365;
const NEW_CLIENT_DAYS = 84;
/** Below so many cases the salon's own habits say too little, and these stand in (ours). */
const ENOUGH = 30;
const USUAL = { returnShare: 0.8, stretch: 1, keptShare: 0.95 } as const;
const FAR_DAYS = 365;
const MINUTE_MS = 60_000;
const DAY_MS = 86_400_000;

type WindowRow = {
  readonly clientId: string;
  readonly daysAgo: number;
  readonly earliestDays: number;
  readonly dueDays: number;
  readonly latestDays: number;
  readonly minutes: number;
};

type BookedRow = {
  readonly clientId: string;
  readonly startsAt: number;
  readonly minutes: number;
  readonly known: number;
};

/** Every client with a window or an appointment within `lengthDays` of `view.on`. */
export async function demandClients(
  manager: EntityManager,
  view: DemandView,
  lengthDays: number,
): Promise<DemandClient[]> {
  const clients = new Map<string, { -readonly [K in keyof DemandClient]: DemandClient[K] }>();
  for (const { clientId, minutes, ...window } of await lastWindows(manager, view)) {
    clients.set(clientId, { window, minutes, isNew: false, booked: [] });
  }
  const days = localDays(view.salon.zone, view.on, addDays(view.on, lengthDays - 1));
  let day = 0;
  for (const { clientId, startsAt, minutes, known } of await bookedAhead(
    manager,
    view,
    days.at(-1)!.endsAt,
  )) {
    while (startsAt >= days[day]!.endsAt) day += 1;
    const client = clients.get(clientId) ?? { window: null, minutes, isNew: known === 0, booked: [] };
    clients.set(clientId, { ...client, booked: [...client.booked, { day, minutes }] });
  }
  return [...clients.values()];
}

/** Each client's last visit that ended with a window, and that window. */
function lastWindows(manager: EntityManager, { salon, on, knownAt, live }: DemandView): Promise<WindowRow[]> {
  const days = (date: string) =>
    daysSql(
      manager,
      'v."visitOn"',
      live ? `COALESCE(w."${date}On", v."suggested${upper(date)}On")` : `v."suggested${upper(date)}On"`,
    );
  return ask<WindowRow>(
    manager,
    `SELECT v."clientId", ${daysSql(manager, 'v."visitOn"', ':on')} AS "daysAgo", ${days('earliest')} AS "earliestDays",
       ${days('due')} AS "dueDays", ${days('latest')} AS "latestDays", s.minutes AS "minutes"
     FROM client c
       JOIN visit v ON v."clientId" = c.id AND v."visitOn" = (SELECT MAX(m."visitOn") FROM visit m
         WHERE m."clientId" = c.id AND m."visitOn" < :on AND m."suggestedDueOn" IS NOT NULL)
       JOIN service s ON s.id = v."serviceId"
       ${live ? 'LEFT JOIN shape_window w ON w."clientId" = v."clientId" AND w."formulaId" = v."formulaId"' : ''}
     WHERE v."salonId" = :salonId AND v."visitOn" >= :since AND v."suggestedDueOn" IS NOT NULL
       AND (c."erasedAt" IS NULL OR c."erasedAt" > :knownAt)`,
    { salonId: salon.id, on, knownAt, since: addDays(on, -HISTORY_DAYS) },
    ['daysAgo', 'earliestDays', 'dueDays', 'latestDays', 'minutes'],
  );
}

const upper = (word: string) => word.charAt(0).toUpperCase() + word.slice(1);

/** Appointments from `view.on` on, as the book stood at `view.knownAt`; moves since then are not undone. */
function bookedAhead(
  manager: EntityManager,
  { salon, on, knownAt }: DemandView,
  until: number,
): Promise<BookedRow[]> {
  return ask<BookedRow>(
    manager,
    `SELECT a."clientId", a."startsAt" AS "startsAt", (a."endsAt" - a."startsAt") / ${MINUTE_MS}.0 AS "minutes",
       CASE WHEN EXISTS (SELECT 1 FROM visit v WHERE v."clientId" = a."clientId" AND v."visitOn" < :on) THEN 1 ELSE 0 END AS "known"
     FROM appointment a
     WHERE a."salonId" = :salonId AND a."startsAt" >= :fromAt AND a."startsAt" < :until AND a."bookedAt" <= :knownAt
       AND (a."cancelledAt" IS NULL OR a."cancelledAt" > :knownAt)
     ORDER BY a."startsAt"`,
    { salonId: salon.id, on, fromAt: dayBounds(salon.zone, on).startsAt, until, knownAt },
    ['startsAt', 'minutes', 'known'],
  );
}

/** What the record up to the day before says of the salon's clients. */
export async function demandHabits(manager: EntityManager, view: DemandView): Promise<DemandHabits> {
  const { salon, on, knownAt } = view;
  const scope: FigureScope = {
    salonId: salon.id,
    staffId: null,
    fromDate: addDays(on, -HABIT_DAYS),
    today: addDays(on, -1),
    now: knownAt,
    zone: salon.zone,
  };
  const { times, ratios } = await returnsAndRatios(manager, scope);
  const curve = kaplanMeier(times);
  const returns = ratios.reduce((sum, { count }) => sum + count, 0);
  const { bookedWithin, attendance } = await bookingHabits(
    manager,
    scope,
    salon.cancelNoticeHours ?? USUAL_NOTICE_HOURS,
  );
  const [news] = await ask<{ visits: number; minutes: number | null }>(
    manager,
    `SELECT COUNT(*) AS "visits", AVG(s.minutes) AS "minutes" FROM visit v JOIN service s ON s.id = v."serviceId"
     WHERE v."salonId" = :salonId AND v."visitOn" >= :since AND v."visitOn" < :on
       AND v."firstOn" = v."visitOn"`,
    { salonId: salon.id, since: addDays(on, -NEW_CLIENT_DAYS), on },
    ['visits', 'minutes'],
  );
  return {
    bookedWithin,
    returnShare: curve.ended < ENOUGH ? USUAL.returnShare : 1 - (stepAt(curve, FAR_DAYS)?.survival ?? 1),
    stretch: returns < ENOUGH ? USUAL.stretch : (ratioQuantile(ratios, 0.5) ?? USUAL.stretch),
    keptShare:
      attendance.of < ENOUGH ? USUAL.keptShare : 1 - (attendance.noShows + attendance.late) / attendance.of,
    newVisitsPerDay: (news?.visits ?? 0) / NEW_CLIENT_DAYS,
    newVisitMinutes: news?.minutes ?? 0,
  };
}

/** Minutes on the rota of those who cut now, in each of the weeks that begin on `mondays`. */
export async function capacityMinutes(
  manager: EntityManager,
  salon: DemandView['salon'],
  mondays: readonly string[],
): Promise<number[]> {
  const staff = await manager.findBy(Staff, { salonId: salon.id, cutsHair: true, active: true });
  if (staff.length === 0) return mondays.map(() => 0);
  const days = localDays(salon.zone, mondays[0]!, addDays(mondays.at(-1)!, 6));
  const ids = staff.map(({ id }) => id);
  const stretches = [...(await workingTime(manager, salon.id, ids, days)).values()].flatMap(
    (working) => working.stretches,
  );
  return mondays.map((monday) => {
    const sunday = addDays(monday, 6);
    return stretches
      .filter(({ date }) => date >= monday && date <= sunday)
      .reduce((sum, { startsAt, endsAt }) => sum + (endsAt - startsAt) / MINUTE_MS, 0);
  });
}

/** What `returnTimes` and `intervalRatios` say of all visits together, from one look at them. */
export async function returnsAndRatios(
  manager: EntityManager,
  scope: FigureScope,
): Promise<{ readonly times: TimeCount[]; readonly ratios: RatioCount[] }> {
  const rows = await groupVisits(manager, scope, null, {
    groups: {
      days: returnDaysSql(manager),
      due: `CASE WHEN ${RATIO_COUNTS} THEN ${daysSql(manager, 'x."visitOn"', 'x."suggestedDueOn"')} ELSE 0 END`,
    },
    sums: { ended: one('x."nextOn" IS NOT NULL'), open: one('x."nextOn" IS NULL') },
    next: true,
  });
  return {
    times: rows.map(({ days, ended, open }) => ({ days, ended, open })),
    ratios: rows.flatMap(({ days, due, ended }) => (due > 0 ? [{ ratio: days / due, count: ended }] : [])),
  };
}

type BookingHabits = {
  /** Share of visits booked at most 0, 1, ... days ahead; those nobody had booked count as booked on the day. */
  readonly bookedWithin: number[];
  readonly attendance: Omit<AttendanceCounts, 'key'>;
};

async function bookingHabits(
  manager: EntityManager,
  scope: FigureScope,
  noticeHours: number,
): Promise<BookingHabits> {
  const values = { salonId: scope.salonId, fromDate: scope.fromDate, today: scope.today };
  const asked = attendanceSql(noticeHours);
  const booked = await groupAppointments(
    manager,
    scope,
    null,
    { ...asked.sums, came: one(`a.state IN ('done', 'arrived')`) },
    asked.values,
    { days: `CAST((a."startsAt" - a."bookedAt") / ${DAY_MS} AS integer)` },
  );
  const [walkIns] = await ask<{ count: number }>(
    manager,
    `SELECT COUNT(*) AS "count" FROM visit v WHERE v."salonId" = :salonId AND v."appointmentId" IS NULL
       AND v."visitOn" BETWEEN :fromDate AND :today`,
    values,
    ['count'],
  );
  const shares = new Array<number>(FAR_DAYS + 1).fill(0);
  const add = (days: number, count: number) => {
    const day = Math.min(FAR_DAYS, Math.max(0, days));
    shares[day] = (shares[day] ?? 0) + count;
  };
  for (const { days, came } of booked) add(days, came);
  add(0, walkIns?.count ?? 0);
  const all = shares.reduce((sum, count) => sum + count, 0);
  const total = (of: 'of' | 'noShows' | 'late') => booked.reduce((sum, row) => sum + row[of], 0);
  const attendance = { of: total('of'), noShows: total('noShows'), late: total('late') };
  // Without a record everybody may still come at any time.
  if (all < ENOUGH) return { bookedWithin: [1], attendance };
  let sum = 0;
  const bookedWithin = shares.map((count) => {
    sum += count;
    return sum / all;
  });
  return { bookedWithin, attendance };
}
