import type { DataSource } from 'typeorm';

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
  await run(`${count(visits)} INSERT INTO visit (id, version, "salonId", "clientId", "staffId", "serviceId", "appointmentId", "formulaId",
      "visitOn", "closedAt", "dayEndsAt", "priceMinor", notes, "suggestedEarliestOn", "suggestedDueOn", "suggestedLatestOn")
    SELECT ${idOf(VISIT, 'i')}, 1, '${salonId}', ${client}, ${staff}, ${service}, ${idOf(BOOKING, 'i')}, ${idOf(FORMULA, 'i')},
      ${date(startsAt)}, ${startsAt} + 2700000, (${startsAt} / ${DAY_MS} + 1) * ${DAY_MS}, 5200, '',
      ${windowDay(20)}, ${windowDay(31)}, ${windowDay(42)} FROM n`);
  await run(`${count(Math.floor(visits / 2))} INSERT INTO measurement (id, "clientId", "visitId", zone, "lengthMm", "sdMm", tool, "measuredOn")
    SELECT ${idOf('a2000000', 'i')}, "clientId", id, 'nape', 10 + ${mixed(10, 12)}, 5, 'hand', "visitOn"
    FROM n JOIN visit ON visit.id = ${idOf(VISIT, 'n.i * 2')}`);
  await run(`${count(visits)} INSERT INTO message (id, "dedupeKey", "salonId", "clientId", "appointmentId", kind, channel, "owedSince", "dueAt", state, attempts, "sentAt", round)
    SELECT ${idOf('a3000000', 'i')}, 'reminder:' || i, '${salonId}', ${client}, ${idOf(BOOKING, 'i')}, 'appointment-reminder', 'mail',
      ${startsAt} - 172800000, ${startsAt} - 172800000, CASE WHEN ${mixed(11, 5)} = 0 THEN 'unreachable' ELSE 'sent' END, 1,
      CASE WHEN ${mixed(11, 5)} = 0 THEN NULL ELSE ${startsAt} - 172800000 END, 0 FROM n`);
  await run('ANALYZE');
}
