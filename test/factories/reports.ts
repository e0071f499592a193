import type { DataSource } from 'typeorm';
import { addDays, dayBounds, instantAt } from '../../src/base/index.js';
import { Appointment, type AppointmentState, Claim } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { CutFormula, HoldLimitRow, Measurement, Visit, ZoneLength } from '../../src/cuts/index.js';
import { seededUniform } from '../../src/engine/stats/index.js';
import { Message } from '../../src/reminders/index.js';
import { newId } from '../../src/store/index.js';
import type { TestSalon, TestStore } from './salon.js';

/** How much to plant; visits are spread over the clients, who come about every five weeks for two years. */
export type ManyVisits = { readonly visits: number; readonly clients: number };

const DAY_MS = 86_400_000;
const FIRST_DAY_MS = Date.parse('2024-05-06T00:00:00Z');
/** The day after the last of them. */
export const MANY_UNTIL = '2026-06-01';

/** An id that sorts by `n` within its `kind`, made by the database. */
const idOf = (kind: string, n: string) => `printf('${kind}-0000-7000-8000-%012x', ${n})`;
/** Repeatable and spread out: 0 to `below` - 1. */
const mixed = (salt: number, below: number) =>
  `((i * 2654435761 + ${salt} * 40503 + (i >> 7) * 97) % 1000003 % ${below})`;

const CLIENT = 'c0000000';
const VISIT = 'a0000000';
const BOOKING = 'b0000000';
const FORMULA = 'f0000000';

/**
 * A salon's visits by the million, written by the database itself in seconds: each booked, cut, given a window, half of
 * them measured on arrival. SQLite only. `salonId`, two stylists and two services must be there.
 */
export async function plantManyVisits(
  writer: DataSource,
  place: { salonId: string; staffIds: readonly [string, string]; serviceIds: readonly [string, string] },
  { visits, clients }: ManyVisits,
): Promise<void> {
  const { salonId, staffIds, serviceIds } = place;
  const rounds = Math.max(1, Math.ceil(visits / clients));
  const apart = Math.floor(730 / rounds);
  const run = (sql: string) => writer.query(sql);
  const count = (to: number) =>
    `WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i + 1 < ${to})`;
  const client = idOf(CLIENT, `(i * 7919) % ${clients}`);
  const day = `(i / ${clients}) * ${apart} + ${mixed(1, Math.max(2, apart))}`;
  const staff = `CASE WHEN ${mixed(2, 10)} < 6 THEN '${staffIds[0]}' ELSE '${staffIds[1]}' END`;
  const service = `CASE WHEN ${mixed(3, 10)} < 7 THEN '${serviceIds[0]}' ELSE '${serviceIds[1]}' END`;
  const startsAt = `(${FIRST_DAY_MS} + (${day}) * ${DAY_MS} + (9 + ${mixed(4, 9)}) * 3600000)`;
  const date = (ms: string) => `date((${ms}) / 1000, 'unixepoch')`;
  const windowDay = (days: number) => date(`${startsAt} + (${days} + ${mixed(5, 14)}) * ${DAY_MS}`);
  await run('PRAGMA synchronous = OFF');
  await run('PRAGMA cache_size = -1000000');
  await run(`${count(clients)} INSERT INTO client (id, version, "salonId", "givenName", "familyName", "searchText", notes, "healthNotes", "addedAt")
    SELECT ${idOf(CLIENT, 'i')}, 1, '${salonId}', 'Guest', 'Number ' || i, 'guest number ' || i, '', '', ${FIRST_DAY_MS} FROM n`);
  await run(`${count(visits)} INSERT INTO cut_formula (id, version, "salonId", "clientId", name, notes, "cutOn")
    SELECT ${idOf(FORMULA, 'i')}, 1, '${salonId}', ${client}, 'Shape ' || (${mixed(6, 8)}), '', ${date(startsAt)} FROM n`);
  await run(`${count(visits)} INSERT INTO zone_length (id, "formulaId", zone, "leftMm", "leftOn", "leftSdMm", "wantedMm")
    SELECT ${idOf('d0000000', 'i')}, ${idOf(FORMULA, 'i')}, 'nape', 6, ${date(startsAt)}, 1, 6 FROM n`);
  await run(`${count(visits)} INSERT INTO hold_limit (id, "formulaId", kind, zone, value)
    SELECT ${idOf('e0000000', 'i')}, ${idOf(FORMULA, 'i')}, 'grown-by', 'nape', 12 FROM n`);
  await run(`${count(visits)} INSERT INTO appointment (id, version, "salonId", "clientId", "staffId", "serviceId", "startsAt", "endsAt", state, "bookedAt", moves, notes, "cancelledAt")
    SELECT ${idOf(BOOKING, 'i')}, 1, '${salonId}', ${client}, ${staff}, ${service}, ${startsAt}, ${startsAt} + 2700000,
      CASE ${mixed(7, 25)} WHEN 0 THEN 'no-show' WHEN 1 THEN 'cancelled' ELSE 'done' END,
      ${startsAt} - (1 + ${mixed(8, 60)}) * ${DAY_MS}, 0, '',
      CASE ${mixed(7, 25)} WHEN 1 THEN ${startsAt} - ${mixed(9, 96)} * 3600000 END FROM n`);
  await run(`${count(visits)} INSERT INTO claim (id, "appointmentId", "staffId", "startsAt", "endsAt")
    SELECT ${idOf('a1000000', 'i')}, ${idOf(BOOKING, 'i')}, ${staff}, ${startsAt}, ${startsAt} + 2700000 FROM n`);
  // What the trigger would keep beside a million visits one by one, written at one go.
  const [came]: { sql: string }[] = await writer.query(
    `SELECT sql FROM sqlite_master WHERE type = 'trigger' AND name = 'visit_came'`,
  );
  await run('DROP TRIGGER visit_came');
  await run(`${count(visits)} INSERT INTO visit (id, version, "salonId", "clientId", "staffId", "serviceId", "appointmentId", "formulaId",
      "visitOn", "closedAt", "dayEndsAt", "priceMinor", notes, "suggestedEarliestOn", "suggestedDueOn", "suggestedLatestOn")
    SELECT ${idOf(VISIT, 'i')}, 1, '${salonId}', ${client}, ${staff}, ${service}, ${idOf(BOOKING, 'i')}, ${idOf(FORMULA, 'i')},
      ${date(startsAt)}, ${startsAt} + 2700000, (${startsAt} / ${DAY_MS} + 1) * ${DAY_MS}, 5200, '',
      ${windowDay(20)}, ${windowDay(31)}, ${windowDay(42)} FROM n`);
  await run(`UPDATE visit SET
    "nextOn" = (SELECT MIN(n."visitOn") FROM visit n WHERE n."clientId" = visit."clientId" AND n."visitOn" > visit."visitOn"),
    "firstOn" = (SELECT MIN(f."visitOn") FROM visit f WHERE f."clientId" = visit."clientId"),
    shape = (SELECT c.name FROM cut_formula c WHERE c.id = visit."formulaId")`);
  await run(came?.sql ?? '');
  await run(`${count(Math.floor(visits / 2))} INSERT INTO measurement (id, "clientId", "visitId", zone, "lengthMm", "sdMm", tool, "measuredOn")
    SELECT ${idOf('a2000000', 'i')}, "clientId", id, 'nape', 10 + ${mixed(10, 12)}, 5, 'hand', "visitOn"
    FROM n JOIN visit ON visit.id = ${idOf(VISIT, 'n.i * 2')}`);
  await run(`${count(visits)} INSERT INTO message (id, "dedupeKey", "salonId", "clientId", "appointmentId", kind, channel, "owedSince", "dueAt", state, attempts, "sentAt", round)
    SELECT ${idOf('a3000000', 'i')}, 'reminder:' || i, '${salonId}', ${client}, ${idOf(BOOKING, 'i')}, 'appointment-reminder', 'mail',
      ${startsAt} - 172800000, ${startsAt} - 172800000, CASE WHEN ${mixed(11, 5)} = 0 THEN 'unreachable' ELSE 'sent' END, 1,
      CASE WHEN ${mixed(11, 5)} = 0 THEN NULL ELSE ${startsAt} - 172800000 END, 0 FROM n`);
  await run('ANALYZE');
}

export type HistorySize = {
  readonly clients: number;
  readonly mostVisits: number;
  readonly firstDay: string;
  /** Last day on which anybody can have come. */
  readonly today: string;
  /** Days between two visits, at most. */
  readonly apart: number;
};

const SHAPES = ['Clipped crop', 'Stacked bob', 'Pixie'] as const;

/**
 * A made-up past full of awkward cases: two visits on one day, visits without a window or a cut, walk-ins, bookings at
 * the turn of the clock, cancelled ones on either side of the notice, messages of every fate.
 */
export async function plantHistory(
  { units }: Pick<TestStore, 'units'>,
  place: Pick<TestSalon, 'salon' | 'mara' | 'ilan' | 'fullCut' | 'tidy' | 'colour'>,
  seed: number,
  size: HistorySize,
): Promise<void> {
  const uniform = seededUniform(seed);
  const whole = (from: number, to: number) => from + Math.floor(uniform() * (to - from + 1));
  const chance = (share: number) => uniform() < share;
  const pick = <T>(things: readonly T[]): T => things[whole(0, things.length - 1)] as T;
  const { salon, mara, ilan, fullCut, tidy, colour } = place;
  const { zone } = salon;
  const minutesMs = 60_000;
  const rows = {
    formulas: [] as Partial<CutFormula>[],
    lengths: [] as Partial<ZoneLength>[],
    limits: [] as Partial<HoldLimitRow>[],
    appointments: [] as Partial<Appointment>[],
    claims: [] as Partial<Claim>[],
    visits: [] as Partial<Visit>[],
    measurements: [] as Partial<Measurement>[],
    messages: [] as Partial<Message>[],
  };
  const book = (clientId: string, day: string, state: AppointmentState, bookedDaysAhead: number) => {
    const service = pick([fullCut, tidy, colour]);
    const staff = pick([mara, ilan]);
    const startsAt = instantAt(zone, day, pick(['00:30', '09:00', '12:15', '17:30', '23:30']));
    const endsAt = startsAt + service.minutes * minutesMs;
    const id = newId();
    const cancelledAt = state === 'cancelled' ? startsAt - whole(1, 72) * 3_600_000 : null;
    rows.appointments.push({
      id,
      version: 1,
      salonId: salon.id,
      clientId,
      staffId: staff.id,
      serviceId: service.id,
      startsAt,
      endsAt,
      state,
      bookedAt: Math.min(startsAt - bookedDaysAhead * DAY_MS, cancelledAt ?? startsAt),
      cancelledAt,
    });
    if (state !== 'cancelled' && state !== 'no-show') {
      rows.claims.push({ id: newId(), appointmentId: id, staffId: staff.id, startsAt, endsAt });
    }
    if (chance(0.7)) {
      const sent = chance(0.7);
      rows.messages.push({
        id: newId(),
        dedupeKey: `reminder:${id}`,
        salonId: salon.id,
        clientId,
        appointmentId: id,
        kind: 'appointment-reminder',
        channel: 'mail',
        owedSince: startsAt - 2 * DAY_MS,
        dueAt: startsAt - 2 * DAY_MS,
        state: sent ? 'sent' : pick(['failed', 'unreachable', 'withdrawn']),
        sentAt: sent ? startsAt - whole(-3, 40) * 3_600_000 : null,
        attempts: 0,
      });
    }
    return { id, staffId: staff.id, serviceId: service.id, endsAt, priceMinor: service.priceMinor };
  };
  const guests = Array.from({ length: size.clients }, (_, i) => ({
    id: newId(),
    version: 1,
    salonId: salon.id,
    givenName: 'Guest',
    familyName: `Number ${i + 1}`,
    searchText: `guest number ${i + 1}`,
    addedAt: 0,
  }));
  for (const { id: clientId } of guests) {
    let day = addDays(size.firstDay, whole(0, 2 * size.apart));
    let formulaId: string | null = null;
    for (let visit = whole(0, size.mostVisits); visit > 0 && day <= size.today; visit -= 1) {
      const booking = chance(0.8) ? book(clientId, day, 'done', whole(0, 50)) : undefined;
      const service = pick([fullCut, tidy, colour]);
      const isCut = chance(0.85);
      const before = formulaId;
      formulaId = isCut ? newId() : null;
      if (formulaId) {
        rows.formulas.push({
          id: formulaId,
          version: 1,
          salonId: salon.id,
          clientId,
          name: pick(SHAPES),
          notes: '',
          cutOn: day,
        });
        for (const zone of ['nape', 'back', 'top'] as const) {
          const leftMm = whole(5, 60);
          rows.lengths.push({
            id: newId(),
            formulaId,
            zone,
            leftMm,
            leftOn: day,
            leftSdMm: 2,
            wantedMm: leftMm - whole(0, 4),
          });
        }
        const limit = (kind: HoldLimitRow['kind'], zone: HoldLimitRow['zone'], value: number, more = {}) =>
          rows.limits.push({
            id: newId(),
            formulaId: formulaId as string,
            kind,
            zone,
            value,
            against: null,
            by: null,
            landmark: null,
            ...more,
          });
        if (chance(0.6)) limit('grown-by', 'nape', whole(4, 15));
        if (chance(0.4)) limit('longer-than', 'back', whole(20, 60));
        if (chance(0.4)) limit('contrast', 'nape', pick([1.5, 2]), { against: 'back', by: 'ratio' });
        if (chance(0.2)) limit('contrast', 'nape', whole(2, 20), { against: 'top', by: 'difference' });
        if (chance(0.2)) limit('landmark', 'top', 0, { landmark: 'brow' });
      }
      const hasWindow = isCut && chance(0.9);
      const due = whole(1, 50);
      const closedAt = booking?.endsAt ?? instantAt(zone, day, pick(['10:00', '18:45']));
      const visitId = newId();
      rows.visits.push({
        id: visitId,
        version: 1,
        salonId: salon.id,
        clientId,
        staffId: booking?.staffId ?? pick([mara, ilan]).id,
        serviceId: booking?.serviceId ?? service.id,
        appointmentId: booking?.id ?? null,
        formulaId,
        visitOn: day,
        closedAt,
        dayEndsAt: dayBounds(zone, day).endsAt,
        priceMinor: whole(0, 9000),
        suggestedEarliestOn: hasWindow ? addDays(day, Math.max(0, due - whole(0, 15))) : null,
        suggestedDueOn: hasWindow ? addDays(day, due) : null,
        suggestedLatestOn: hasWindow ? addDays(day, due + whole(0, 25)) : null,
      });
      if (before !== null || chance(0.2)) {
        for (const zone of ['nape', 'back', 'top'] as const) {
          if (!chance(0.5)) continue;
          rows.measurements.push({
            id: newId(),
            clientId,
            visitId,
            zone,
            lengthMm: whole(5, 70),
            sdMm: 5,
            tool: 'hand',
            measuredOn: day,
          });
        }
      }
      if (chance(0.3)) {
        const sentAt = closedAt + whole(1, 70) * DAY_MS;
        rows.messages.push({
          id: newId(),
          dedupeKey: `nudge:${visitId}`,
          salonId: salon.id,
          clientId,
          kind: 'shape-due',
          channel: 'mail',
          owedSince: sentAt,
          dueAt: sentAt,
          state: pick(['sent', 'sent', 'failed']),
          sentAt,
          attempts: 1,
        });
      }
      if (chance(0.3))
        book(
          clientId,
          addDays(day, whole(0, 40)),
          pick(['no-show', 'cancelled', 'booked', 'arrived']),
          whole(0, 30),
        );
      // Now and then twice on one day.
      day = chance(0.05) ? day : addDays(day, whole(1, size.apart));
    }
  }
  await units.run(async (manager) => {
    await manager.insert(Client, guests);
    await manager.insert(CutFormula, rows.formulas);
    await manager.insert(ZoneLength, rows.lengths);
    await manager.insert(HoldLimitRow, rows.limits);
    await manager.insert(Appointment, rows.appointments);
    await manager.insert(Claim, heldOnce(rows.claims));
    await manager.insert(Visit, rows.visits);
    await manager.insert(Measurement, rows.measurements);
    await manager.insert(Message, rows.messages);
  });
}

/** Chance books people twice; of two claims on one stylist's time only the first stands, as in the real book. */
function heldOnce(claims: readonly Partial<Claim>[]): Partial<Claim>[] {
  const ends = new Map<Claim['staffId'] | undefined, number>();
  return [...claims]
    .sort((one, other) => (one.startsAt ?? 0) - (other.startsAt ?? 0))
    .filter(({ staffId, startsAt = 0, endsAt = 0 }) => {
      if (startsAt < (ends.get(staffId) ?? 0)) return false;
      ends.set(staffId, endsAt);
      return true;
    });
}
