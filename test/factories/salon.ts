import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { MIGRATIONS } from '../../migrations/index.js';
import { FixedClock } from '../../src/base/index.js';
import { ENTITIES } from '../../src/entities.js';
import { Audit, SYSTEM } from '../../src/identity/index.js';
import { type Salon, Salons, type Service, type Staff } from '../../src/salon/index.js';
import { openSources, Reader, type Sources, UnitOfWork } from '../../src/store/index.js';
import { usualKeyFile } from '../../src/store/load-keys.js';
import { emptyDatabase } from './database.js';

/** A database file of its own with what every service is built from. */
export type TestStore = {
  /** Path of the file, or address on PostgreSQL. */
  readonly database: string;
  /** Folder for other processes on the same database: its key is in there. */
  readonly folder: string;
  readonly sources: Sources;
  readonly units: UnitOfWork;
  readonly reader: Reader;
  readonly clock: FixedClock;
  readonly audit: Audit;
  readonly salons: Salons;
  close(): Promise<void>;
};

const POOL = { readers: 2, statementMs: 30_000 };

/** Opens a migrated database of its own, an SQLite file in a new temporary folder or on PostgreSQL; the clock stands at `nowIso`, an instant in UTC. */
export async function openTestStore(nowIso = '2026-06-01T08:00:00Z'): Promise<TestStore> {
  const folder = await mkdtemp(join(tmpdir(), 'halfinch-'));
  const file = join(folder, 'test.sqlite');
  const { database, drop } = await emptyDatabase(file);
  const keys = { keyFile: usualKeyFile(folder) };
  const sources = await openSources(database, ENTITIES, MIGRATIONS, keys, POOL);
  const units = new UnitOfWork(sources.writer);
  const reader = new Reader(sources.reader);
  const clock = new FixedClock(Date.parse(nowIso));
  const audit = new Audit(clock);
  return {
    database,
    folder,
    sources,
    units,
    reader,
    clock,
    audit,
    salons: new Salons(units, reader, audit),
    close: async () => {
      await sources.reader.destroy();
      await sources.writer.destroy();
      await drop();
      await rm(folder, { recursive: true });
    },
  };
}

export const SALON_INPUT = {
  name: 'Wren & Tallow',
  zone: 'Europe/London',
  units: 'cm',
  currency: 'GBP',
  locale: 'en-GB',
  phoneRegion: 'GB',
  email: 'chairs@wren-tallow.example.org',
  phone: '020 7946 0301',
  address: '3 Candle Row, Oxmarsh',
};

/** Every day of the week, so that a test may pick any date; a lunch break from 13:00. */
export const WEEK = [1, 2, 3, 4, 5, 6, 7].flatMap((weekday) => [
  { weekday, startsAt: '09:00', endsAt: '13:00' },
  { weekday, startsAt: '13:30', endsAt: '18:00' },
]);

export type TestSalon = {
  readonly salon: Salon;
  /** Two stylists with the rota WEEK, Mara first, and one who only keeps the desk. */
  readonly mara: Staff;
  readonly ilan: Staff;
  readonly frontDesk: Staff;
  /** 45 minutes. */
  readonly fullCut: Service;
  /** 20 minutes, nape and sides. */
  readonly tidy: Service;
  /** 90 minutes. */
  readonly colour: Service;
};

/** An invented salon with its people, services and rota; `changes` overrides fields of SALON_INPUT. */
export async function makeSalon(
  { salons }: Pick<TestStore, 'salons'>,
  changes: Partial<typeof SALON_INPUT> = {},
): Promise<TestSalon> {
  const salon = await salons.add({ ...SALON_INPUT, ...changes }, SYSTEM);
  const mara = await salons.addStaff(salon.id, { name: 'Mara Quillfeather' }, SYSTEM);
  const ilan = await salons.addStaff(salon.id, { name: 'Ilan Drosser', fingerWidthMm: 20 }, SYSTEM);
  const frontDesk = await salons.addStaff(salon.id, { name: 'Petra Hobb', cutsHair: false }, SYSTEM);
  for (const { id } of [mara, ilan]) await salons.setRota(id, { entries: WEEK }, SYSTEM);
  const fullCut = await salons.addService(
    salon.id,
    { name: 'Full cut', kind: 'full-cut', minutes: 45, priceMinor: 5200 },
    SYSTEM,
  );
  const tidy = await salons.addService(
    salon.id,
    {
      name: 'Nape and sides tidy',
      kind: 'tidy',
      zones: ['nape', 'left-side', 'right-side'],
      minutes: 20,
      priceMinor: 1800,
    },
    SYSTEM,
  );
  const colour = await salons.addService(
    salon.id,
    { name: 'Root colour', kind: 'colour', minutes: 90, priceMinor: 6800 },
    SYSTEM,
  );
  return { salon, mara, ilan, frontDesk, fullCut, tidy, colour };
}
