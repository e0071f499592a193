import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { MIGRATIONS } from '../../migrations/index.js';
import { NotEmptyError, type Planted, plantDemo } from '../../seed/index.js';
import { addDays, dateIn, FixedClock } from '../../src/base/index.js';
import { Appointment } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { Formulas, GrowthProfiles, Visit } from '../../src/cuts/index.js';
import { DemoRefused, demoSettings, startDemo } from '../../src/demo.js';
import { ENTITIES } from '../../src/entities.js';
import { Audit, Sessions, SignIn } from '../../src/identity/index.js';
import { ShapeWindow, Windows } from '../../src/rebooking/index.js';
import { RebookingRate } from '../../src/reports/index.js';
import { Salon } from '../../src/salon/index.js';
import { openSources, Reader, type Sources, UnitOfWork } from '../../src/store/index.js';

const ZONE = 'Europe/London';
const FEW = 12;
const PATIENCE_MS = 120_000;
const NOW = Date.parse('2026-06-17T09:40:00Z');

async function openIn(folder: string): Promise<Sources> {
  return await openSources(join(folder, 'demo.sqlite'), ENTITIES, MIGRATIONS);
}

describe('planting the demo', () => {
  const clock = new FixedClock(NOW);
  let folder: string;
  let sources: Sources;
  let units: UnitOfWork;
  let reader: Reader;
  let planted: Planted;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'halfinch-demo-'));
    sources = await openIn(folder);
    units = new UnitOfWork(sources.writer);
    reader = new Reader(sources.reader);
    planted = await plantDemo({ units, now: NOW });
  }, PATIENCE_MS);
  afterAll(async () => {
    await sources.reader.destroy();
    await sources.writer.destroy();
    await rm(folder, { recursive: true });
  });

  it('leaves a database whose references all hold', async () => {
    expect(planted.planted).toBe(true);
    expect(await sources.writer.query('PRAGMA foreign_key_check')).toEqual([]);
    expect(await reader.manager.count(Client)).toBe(300);
    // Read back through the entities: flags, JSON and instants came through the driver whole.
    const salon = await reader.manager.findOneByOrFail(Salon, {});
    expect(salon).toMatchObject({ zone: ZONE, skinTestValidDays: 180 });
    const profiles = new GrowthProfiles();
    const window = await reader.manager.findOneByOrFail(ShapeWindow, {});
    const profile = await profiles.of(reader.manager, window.clientId);
    expect(profile.covariance).toHaveLength(8);
  });

  it('does nothing a second time and tells the same sign-ins', async () => {
    const again = await plantDemo({ units, now: NOW + 3_600_000 });
    expect(again).toEqual({ signIns: planted.signIns, planted: false, stories: [] });
    expect(await reader.manager.count(Client)).toBe(300);
  });

  it('lets everybody in whom it prints', async () => {
    const audit = new Audit(clock);
    const signIn = new SignIn(units, reader, clock, audit, new Sessions(units, reader, clock, audit));
    for (const { email, password, role, name } of planted.signIns) {
      const { token } = await signIn.signIn(email, password);
      expect(await signIn.whoIs(token)).toMatchObject({ email, role, name });
    }
    expect(planted.signIns.map(({ role }) => role)).toEqual([
      ...Array.from({ length: 4 }, () => 'stylist'),
      'desk',
      'owner',
    ]);
  });

  it('stores the windows that the salon itself would work out, but for heads that are not the mean one', async () => {
    const windows = new Windows(clock, new Formulas(), new GrowthProfiles());
    const clients = await reader.manager.find(Client, { order: { id: 'ASC' } });
    const isMean = (client: Client) =>
      client.headCircumferenceMm === null && client.whorlSide === null && client.partingSide === null;
    const stored = new Map((await reader.manager.find(ShapeWindow)).map((row) => [row.clientId, row]));
    const compared = clients.filter((client) => isMean(client) && stored.has(client.id)).slice(0, 30);
    expect(compared).toHaveLength(30);
    for (const { id } of compared) {
      const { earliestOn, dueOn, latestOn, firstZone, reason } = stored.get(id)!;
      const computed = await windows.compute(reader.manager, id);
      expect(computed).toMatchObject({ earliestOn, dueOn, latestOn, first: { zone: firstZone, reason } });
    }
  });

  it('tells the truth about who leaves with the next visit booked', async () => {
    const { id } = await reader.manager.findOneByOrFail(Salon, {});
    const report = await new RebookingRate(reader).since(id, addDays('2026-06-17', -730));
    const all = report.byStylist.reduce(
      (sum, row) => ({ count: sum.count + row.count, of: sum.of + row.of }),
      {
        count: 0,
        of: 0,
      },
    );
    expect(all.of).toBe(await reader.manager.count(Visit));
    expect(all.count / all.of).toBeGreaterThan(0.55);
    expect(all.count / all.of).toBeLessThan(0.68);
    const shares = report.byStylist.map(({ share }) => share);
    expect(shares).toHaveLength(4);
    expect(Math.max(...shares) - Math.min(...shares)).toBeGreaterThan(0.1);
    expect(report.byMonth.length).toBeGreaterThanOrEqual(24);
  });

  it('fills today', async () => {
    const appointments = await reader.manager.find(Appointment);
    const todays = appointments.filter(({ startsAt }) => dateIn(ZONE, startsAt) === '2026-06-17');
    expect(todays.filter(({ state }) => state !== 'cancelled').length).toBeGreaterThanOrEqual(11);
    expect(new Set(todays.map(({ staffId }) => staffId)).size).toBeGreaterThanOrEqual(2);
  });

  it('plants nothing beside a salon that is not its own', async () => {
    const other = await mkdtemp(join(tmpdir(), 'halfinch-demo-'));
    const { writer, reader: otherReader } = await openIn(other);
    try {
      const otherUnits = new UnitOfWork(writer);
      const salon = await reader.manager.findOneByOrFail(Salon, {});
      await otherUnits.run((manager) => manager.insert(Salon, { ...salon, email: 'hello@example.org' }));
      await expect(plantDemo({ units: otherUnits, now: NOW })).rejects.toThrow(NotEmptyError);
      expect(await otherReader.manager.count(Client)).toBe(0);
    } finally {
      await otherReader.destroy();
      await writer.destroy();
      await rm(other, { recursive: true });
    }
  });
});

describe('npm run demo', () => {
  it('refuses to start in production, in words that say what to do', () => {
    expect(() => demoSettings({ NODE_ENV: 'production' })).toThrow(DemoRefused);
    expect(() => demoSettings({ NODE_ENV: 'production' })).toThrow(/Unset NODE_ENV/);
  });

  it('keeps to its own folder unless told otherwise', () => {
    expect(demoSettings({}).database).toBe(join(process.cwd(), 'var/demo/halfinch.sqlite'));
    expect(demoSettings({ HALFINCH_DATA: '/tmp/elsewhere' }).database).toBe('/tmp/elsewhere/halfinch.sqlite');
  });

  it(
    'serves the demo and prints the address and who may sign in',
    async () => {
      const folder = await mkdtemp(join(tmpdir(), 'halfinch-demo-'));
      const printed: string[] = [];
      const env = { HALFINCH_DATA: folder, PORT: '0', LOG_LEVEL: 'silent', DISPATCH_EVERY_MS: '3600000' };
      const { app, planted } = await startDemo(env, (text) => printed.push(text), FEW);
      try {
        const text = printed.join('');
        const address = /Halfinch answers at (\S+)/.exec(text)?.[1] ?? '';
        const page = await fetch(`${address}/sign-in`);
        expect(page.status).toBe(200);
        for (const { email, password } of planted.signIns) {
          expect(text).toContain(email);
          expect(text).toContain(password);
        }
        for (const { name } of planted.stories) expect(text).toContain(name);
        const { email, password } = planted.signIns[0]!;
        const session = await fetch(`${address}/api/v1/sessions`, {
          method: 'POST',
          headers: { 'content-type': 'application/json' },
          body: JSON.stringify({ email, password }),
        });
        expect(session.status).toBe(201);
      } finally {
        await app.close();
        await rm(folder, { recursive: true });
      }
    },
    PATIENCE_MS,
  );
});
