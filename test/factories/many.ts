import type { DataSource } from 'typeorm';
import { isPostgres } from '../../src/store/index.js';

export type Many = {
  readonly salonId: string;
  readonly staffId: string;
  readonly serviceId: string;
  readonly accountId: string;
  /** A shape window's stored distribution, of any real one. */
  readonly packed: string;
};

/** 1,000,000 takes minutes to write: for a long run. */
export const APPOINTMENTS = Number(process.env['APPOINTMENTS'] ?? 40_000);
/** Two thousand appointments each. */
const SALONS = APPOINTMENTS / 2_000;
const DAY_MS = 86_400_000;
const SINCE_MS = Date.parse('2025-01-01T09:00:00Z');
/** Rows of each kind, spread evenly over the salons. */
const COUNTS = {
  clients: APPOINTMENTS / 2,
  appointments: APPOINTMENTS,
  sessions: APPOINTMENTS / 5,
  waiting: APPOINTMENTS / 5,
} as const;

/** Tables that grow with the years: in none of them may a query of every day look at all rows. */
export const GROWING: ReadonlySet<string> = new Set([
  'appointment',
  'audit_entry',
  'claim',
  'client',
  'cut_formula',
  'message',
  'private_link',
  'session',
  'shape_window',
  'skin_test',
  'visit',
  'waiting_entry',
]);

/**
 * Fills a database with many salons' records of nearly two years, written by the database itself, and has it gather
 * statistics. The salon that is there already is the first of them; `packed` and the others are its own.
 */
export async function plantMany(writer: DataSource, first: Many): Promise<void> {
  const hex = isPostgres(writer)
    ? (n: string) => `lpad(to_hex(${n}), 12, '0')`
    : (n: string) => `printf('%012x', ${n})`;
  const id = (kind: string, n = 'i') => `'${kind}0000000-0000-7000-8000-' || ${hex(n)}`;
  const salon = `i % ${SALONS}`;
  const own = (mine: string, kind: string) =>
    `CASE WHEN ${salon} = 0 THEN '${mine}' ELSE ${id(kind, salon)} END`;
  const salonId = own(first.salonId, '1');
  const staffId = own(first.staffId, '2');
  const serviceId = own(first.serviceId, '3');
  /** A client of the same salon, because both numbers are multiples of how many salons there are. */
  const clientId = id('4', `i % ${COUNTS.clients}`);
  /** One after the other in each salon, eight hours apart. */
  const startsAt = `(${SINCE_MS} + CAST(i / ${SALONS} AS bigint) * ${DAY_MS / 3})`;
  const dayOf = (days: string) =>
    isPostgres(writer)
      ? `to_char(date '2025-01-01' + (${days})::int, 'YYYY-MM-DD')`
      : `date('2025-01-01', '+' || (${days}) || ' days')`;
  const day = `i / ${3 * SALONS}`;

  const runner = writer.createQueryRunner();
  // Neither what counts the specs' writes nor the foreign keys, row by row: a minute less.
  if (isPostgres(writer)) {
    await runner.query('SET session_replication_role = replica');
    // A million rows in one statement take longer than any page may.
    await runner.query('SET statement_timeout = 0');
  }
  const plant = async (
    table: string,
    count: number,
    values: Readonly<Record<string, string | number>>,
    from = 0,
  ) => {
    const names = Object.keys(values).map((name) => `"${name}"`);
    await runner.query(
      `WITH RECURSIVE n(i) AS (SELECT ${from} UNION ALL SELECT i + 1 FROM n WHERE i + 1 < ${count})
       INSERT INTO "${table}" (${names.join(', ')}) SELECT ${Object.values(values).join(', ')} FROM n`,
    );
  };

  await plant(
    'salon',
    SALONS,
    {
      id: id('1'),
      version: 1,
      name: `'Salon ' || i`,
      zone: `'Europe/London'`,
      units: `'cm'`,
      currency: `'GBP'`,
      locale: `'en-GB'`,
      phoneRegion: `'GB'`,
      email: `'salon@example.org'`,
      phone: `'020 7946 0301'`,
      address: `''`,
    },
    1,
  );
  await plant('staff', SALONS, { id: id('2'), version: 1, salonId: id('1'), name: `'Stylist'` }, 1);
  const service = {
    version: 1,
    name: `'Cut'`,
    kind: `'full-cut'`,
    zones: `'[]'`,
    minutes: 45,
    priceMinor: 5000,
  };
  await plant('service', SALONS, { id: id('3'), salonId: id('1'), ...service }, 1);
  await plant('client', COUNTS.clients, {
    id: id('4'),
    version: 1,
    salonId,
    givenName: `'Guest'`,
    familyName: `'Number ' || i`,
    searchText: `'guest number ' || i`,
    addedAt: SINCE_MS,
  });
  await plant('appointment', COUNTS.appointments, {
    id: id('5'),
    version: 1,
    salonId,
    clientId,
    staffId,
    serviceId,
    startsAt,
    endsAt: `${startsAt} + 2700000`,
    state: `CASE WHEN i % 11 = 0 THEN 'cancelled' WHEN i < ${COUNTS.appointments * 0.75} THEN 'done' ELSE 'booked' END`,
    bookedAt: `${startsAt} - ${30 * DAY_MS}`,
  });
  await plant('claim', COUNTS.appointments, {
    id: id('6'),
    appointmentId: id('5'),
    staffId,
    startsAt,
    endsAt: `${startsAt} + 2700000`,
  });
  await plant('cut_formula', COUNTS.appointments, {
    id: id('7'),
    version: 1,
    salonId,
    clientId,
    name: `'Shape'`,
  });
  await plant('visit', COUNTS.appointments, {
    id: id('8'),
    version: 1,
    salonId,
    clientId,
    staffId,
    serviceId,
    formulaId: id('7'),
    visitOn: dayOf(day),
    closedAt: startsAt,
    dayEndsAt: `${startsAt} + ${DAY_MS / 2}`,
    priceMinor: 5000,
  });
  await plant('shape_window', COUNTS.clients, {
    id: id('9'),
    salonId,
    clientId: id('4'),
    formulaId: id('7'),
    earliestOn: dayOf(`500 + i % 100`),
    dueOn: dayOf(`510 + i % 100`),
    latestOn: dayOf(`520 + i % 100`),
    firstZone: `'nape'`,
    reason: `'It grows.'`,
    packed: `'${first.packed}'`,
    cutOn: dayOf(`460 + i % 100`),
    computedAt: SINCE_MS,
  });
  await plant('message', COUNTS.appointments, {
    id: id('a'),
    dedupeKey: `'appointment-reminder:' || i`,
    salonId,
    clientId,
    appointmentId: id('5'),
    kind: `'appointment-reminder'`,
    channel: `'mail'`,
    owedSince: startsAt,
    dueAt: startsAt,
    state: `CASE WHEN i < ${COUNTS.appointments * 0.75} THEN 'sent' ELSE 'owed' END`,
  });
  await plant('private_link', COUNTS.appointments, {
    id: id('b'),
    tokenHash: `'hash' || i`,
    kind: `'appointment'`,
    appointmentId: id('5'),
    issuedAt: startsAt,
  });
  await plant('skin_test', COUNTS.waiting, {
    id: id('f'),
    version: 1,
    clientId,
    productLine: `'Line'`,
    place: `'behind the ear'`,
    appliedAt: startsAt,
  });
  await plant('waiting_entry', COUNTS.waiting, {
    id: id('c'),
    version: 1,
    salonId,
    clientId,
    serviceId,
    fromDate: `'2026-06-01'`,
    toDate: `'2026-06-30'`,
    state: `CASE WHEN (i / ${SALONS}) % 20 = 0 THEN 'waiting' ELSE 'booked' END`,
    addedAt: SINCE_MS,
  });
  await plant('session', COUNTS.sessions, {
    id: id('d'),
    tokenHash: `'hash' || i`,
    accountId: `'${first.accountId}'`,
    startedAt: startsAt,
    expiresAt: startsAt,
  });
  const [{ last }] = await runner.query('SELECT max(number) AS last FROM audit_entry');
  await plant('audit_entry', COUNTS.appointments, {
    id: id('e'),
    number: `${last} + 1 + i`,
    at: startsAt,
    action: `'client.read'`,
    subjectKind: `'client'`,
    subjectId: clientId,
    accountId: `'${first.accountId}'`,
    role: `'desk'`,
    hash: `'hash'`,
  });
  if (isPostgres(writer)) await runner.query('SET session_replication_role = DEFAULT');
  await runner.query('ANALYZE');
  await runner.release();
}
