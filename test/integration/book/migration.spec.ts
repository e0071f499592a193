import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from '@jest/globals';
import { MIGRATIONS } from '../../../migrations/index.js';
import { ENTITIES } from '../../../src/entities.js';
import { writerSource } from '../../../src/store/index.js';
import { bareDatabase, isOnPostgres } from '../../factories/database.js';

let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'halfinch-steps-'));
});
afterEach(() => rm(folder, { recursive: true }));

/** A booked appointment with all it hangs on, as the schema before this migration holds it. */
const ROWS = [
  `INSERT INTO salon (id, version, name, zone, units, currency, locale, "phoneRegion", email, phone, address)
   VALUES ('salon', 1, 'Wren', 'Europe/London', 'cm', 'GBP', 'en-GB', 'GB', 'a@example.org', '+442079460301', 'Row')`,
  `INSERT INTO staff (id, version, "salonId", name) VALUES ('staff', 1, 'salon', 'Mara')`,
  `INSERT INTO rota_entry (id, "staffId", weekday, "startsAt", "endsAt") VALUES ('rota', 'staff', 1, '09:00', '18:00')`,
  `INSERT INTO service (id, version, "salonId", name, kind, zones, minutes, "priceMinor")
   VALUES ('service', 1, 'salon', 'Full cut', 'full-cut', '[]', 45, 5200)`,
  `INSERT INTO client (id, version, "salonId", "givenName", "familyName", "searchText", "addedAt")
   VALUES ('client', 1, 'salon', 'Ottilie', 'Farnsby', 'ottilie', 0)`,
  `INSERT INTO appointment (id, version, "salonId", "clientId", "staffId", "serviceId", "startsAt", "endsAt", state, "bookedAt")
   VALUES ('appointment', 1, 'salon', 'client', 'staff', 'service', 3600000, 6300000, 'booked', 0)`,
  `INSERT INTO claim (id, "appointmentId", "staffId", "startsAt", "endsAt")
   VALUES ('claim', 'appointment', 'staff', 3600000, 6300000)`,
  `INSERT INTO message (id, "dedupeKey", "salonId", "clientId", "appointmentId", kind, channel, "owedSince", "dueAt", state)
   VALUES ('message', 'k', 'salon', 'client', 'appointment', 'appointment-reminder', 'mail', 0, 0, 'owed')`,
];

it('keeps every row of a filled database, both ways', async () => {
  const place = MIGRATIONS.findIndex(({ name }) => name.startsWith('BookSteps'));
  const { database, drop } = await bareDatabase(join(folder, 'a.sqlite'));
  const before = await writerSource(database, ENTITIES, MIGRATIONS.slice(0, place)).initialize();
  await before.runMigrations();
  for (const row of ROWS) await before.query(row);
  await before.destroy();

  const source = await writerSource(database, ENTITIES, MIGRATIONS.slice(0, place + 1)).initialize();
  const kept = async () => {
    const found = [];
    for (const table of [
      'salon',
      'staff',
      'rota_entry',
      'service',
      'client',
      'appointment',
      'claim',
      'message',
    ]) {
      found.push(...(await source.query(`SELECT id, '${table}' AS "table" FROM ${table}`)));
    }
    return found.map((row: { id: string }) => row.id);
  };
  /** PostgreSQL would not have let the migration leave any. */
  const dangling = () => (isOnPostgres() ? [] : source.query('PRAGMA foreign_key_check'));
  const all = ['salon', 'staff', 'rota', 'service', 'client', 'appointment', 'claim', 'message'];
  try {
    await source.runMigrations();
    expect(await kept()).toEqual(all);
    expect(await dangling()).toEqual([]);
    expect(await source.query('SELECT "cancelNoticeHours" AS hours FROM salon')).toEqual([{ hours: null }]);
    await source.undoLastMigration();
    expect(await kept()).toEqual(all);
    expect(await dangling()).toEqual([]);
  } finally {
    await source.destroy();
    await drop();
  }
});
