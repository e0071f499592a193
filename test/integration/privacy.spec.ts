import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { Appointment, Book } from '../../src/book/index.js';
import { Client, Clients, Consent } from '../../src/clients/index.js';
import { Account, type Actor, AuditEntry, verifyAudit } from '../../src/identity/index.js';
import { clientTables, KEPT, Privacy, Retention } from '../../src/privacy/index.js';
import { Message } from '../../src/reminders/index.js';
import { SkinTest, SkinTests } from '../../src/skin-tests/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { MARKS, type Marked, openSession, plantMarked } from '../factories/security.js';

// The whole product starts, and hashing is slow on purpose: a busy machine takes its time.
jest.setTimeout(120_000);

const OWNER: Actor = { accountId: null, role: 'owner' };
const DAY_MS = 86_400_000;

/** Every text of every table, as the database holds it. */
async function everything(test: TestApp): Promise<string> {
  const { entityMetadatas } = test.reader.manager.connection;
  const rows = await Promise.all(
    entityMetadatas.map(({ tableName }) => test.reader.manager.query(`SELECT * FROM "${tableName}"`)),
  );
  return JSON.stringify(rows);
}

describe('what a client may ask for', () => {
  let test: TestApp;
  let marked: Marked;
  let other: Marked;
  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
    marked = await plantMarked(test);
    const clients = test.app.get(Clients, { strict: false });
    for (const given of [true, false]) {
      test.clock.at += 1000;
      await clients.setConsent(marked.clientId, { channel: 'mail', purpose: 'rebooking', given }, OWNER);
    }
    await test.app.get(SkinTests, { strict: false }).record(
      {
        clientId: marked.clientId,
        productLine: 'Wren Tint 6',
        place: 'behind the ear',
        appliedById: test.mara.id,
      },
      OWNER,
    );
    other = await plantMarked(test);
  });
  afterAll(() => test.close());

  const as = async (role: 'owner' | 'desk') => ({
    authorization: `Bearer ${await openSession(test.app, role)}`,
  });

  it('is everything on record, in JSON that agrees with the database, and only hers', async () => {
    const answer = await test.app.inject({
      url: `/clients/${marked.clientId}/export.json`,
      headers: await as('owner'),
    });
    expect(answer.headers['content-type']).toBe('application/json; charset=utf-8');
    expect(answer.headers['content-disposition']).toMatch(
      /^attachment; filename="client-[0-9a-f-]{36}\.json"$/,
    );
    expect(answer.headers['cache-control']).toBe('no-store');
    const data = answer.json() as { tables: Record<string, Record<string, unknown>[]>; trail: object[] };
    const [client] = data.tables['client'] ?? [];
    expect(client).toMatchObject({
      givenName: MARKS.name,
      phone: MARKS.phone,
      notes: MARKS.notes,
      healthNotes: MARKS.health,
    });
    // Counted by plain SQL: every row that names the client, in every table that can.
    for (const table of [
      'appointment',
      'visit',
      'consent',
      'skin_test',
      'measurement',
      'message',
      'cut_formula',
    ]) {
      const [row] = await test.reader.manager.query(
        `SELECT count(*) AS n FROM "${table}" WHERE "clientId" = '${marked.clientId}'`,
      );
      expect([table, data.tables[table]?.length ?? 0]).toEqual([table, Number(row.n)]);
    }
    const formulas = (data.tables['cut_formula'] ?? []).map(({ id }) => `'${id}'`).join();
    const [zones] = await test.reader.manager.query(
      `SELECT count(*) AS n FROM zone_length WHERE "formulaId" IN (${formulas})`,
    );
    expect(Number(zones.n)).toBeGreaterThan(0);
    expect(data.tables['zone_length']).toHaveLength(Number(zones.n));
    expect(answer.body).not.toContain(other.clientId);
    expect(answer.body).not.toContain('searchText');
    expect(data.trail).toContainEqual(expect.objectContaining({ action: 'client.export', role: 'owner' }));
  });

  it('is readable by a person too, with names for ids and words for columns', async () => {
    const page = await test.app.inject({
      url: `/clients/${marked.clientId}/export`,
      headers: await as('owner'),
    });
    for (const words of [MARKS.name, MARKS.health, 'given name', 'Wren Tint 6', test.mara.name]) {
      expect(page.body).toContain(words.replace('&', '&amp;'));
    }
    expect(page.body).not.toContain(test.mara.id);
  });

  it('shows every answer to the question of messages, newest first, with who wrote it down', async () => {
    const page = await test.app.inject({
      url: `/clients/${marked.clientId}/privacy`,
      headers: await as('owner'),
    });
    const answers = [...page.body.matchAll(/<strong>(Yes|No)<\/strong> to rebooking/g)].map(
      ([, word]) => word,
    );
    expect(answers).toEqual(['No', 'Yes']);
  });

  it('is refused while an appointment is ahead, and without the word', async () => {
    const headers = await as('owner');
    const erase = (sure: string) =>
      test.app.inject({
        method: 'POST',
        url: `/clients/${marked.clientId}/erasure`,
        headers,
        payload: { sure },
      });
    expect((await erase('yes')).statusCode).toBe(422);
    const ahead = await erase('erase');
    expect(ahead.statusCode).toBe(409);
    expect(ahead.body).toContain('Cancel it first');
    expect(await test.app.get(Clients, { strict: false }).get(marked.clientId)).toMatchObject({
      givenName: MARKS.name,
    });
  });

  it('erases everything personal, keeps every sum, the other client and the audit trail', async () => {
    await test.app.get(Book, { strict: false }).cancel(marked.appointmentId, {}, OWNER);
    const sums = async () => {
      const report = await test.ask('owner', 'GET', '/api/v1/reports/rebooking-rate?from=2026-01-01');
      const [visits] = await test.reader.manager.query(
        'SELECT count(*) AS n, sum("priceMinor") AS total, count("formulaId") AS cut FROM visit',
      );
      const [appointments] = await test.reader.manager.query(
        'SELECT count(*) AS n, count("cancelledAt") AS cancelled FROM appointment',
      );
      const shapes = await test.reader.manager.query(
        `SELECT f.name, count(*) AS n FROM visit v JOIN cut_formula f ON f.id = v."formulaId" GROUP BY f.name`,
      );
      return { report: report.body, visits, appointments, shapes };
    };
    const before = await sums();
    const entries = await test.reader.manager.find(AuditEntry, { order: { number: 'ASC' } });
    const answer = await test.app.inject({
      method: 'POST',
      url: `/clients/${marked.clientId}/erasure`,
      headers: await as('owner'),
      payload: { sure: ' Erase ' },
    });
    expect(answer.statusCode).toBe(303);
    expect(await sums()).toEqual(before);

    const trail = await test.reader.manager.find(AuditEntry, { order: { number: 'ASC' } });
    expect(trail.slice(0, entries.length)).toEqual(entries);
    expect(await verifyAudit(test.reader.manager)).toMatchObject({ broken: null });

    const client = await test.reader.manager.findOneByOrFail(Client, { id: marked.clientId });
    expect(client).toMatchObject({
      givenName: 'Erased',
      familyName: '',
      phone: null,
      email: null,
      notes: '',
    });
    expect(client.erasedAt).toBe(test.clock.at);
    for (const entity of [SkinTest, Consent]) {
      expect(await test.reader.manager.countBy(entity, { clientId: marked.clientId })).toBe(0);
    }
    const messages = await test.reader.manager.findBy(Message, { clientId: marked.clientId });
    expect(messages.length).toBeGreaterThan(0);
    for (const message of messages) {
      expect(message).toMatchObject({ address: null, subject: null, body: null });
      expect(message.state).not.toBe('owed');
    }
    expect(await test.app.get(Clients, { strict: false }).search(test.salon.id, 'zephirine')).toHaveLength(1);
    expect(await test.app.get(Clients, { strict: false }).get(other.clientId)).toMatchObject({
      givenName: MARKS.name,
    });
    // The marks are gone but for the other client's.
    const all = await everything(test);
    expect(all.split(MARKS.notes)).toHaveLength(2);
    const card = await test.app.inject({ url: `/clients/${marked.clientId}`, headers: await as('owner') });
    expect(card.statusCode).toBe(200);
    await expect(
      test.app.get(Privacy, { strict: false }).erase(marked.clientId, OWNER),
    ).rejects.toMatchObject({
      code: 'PRIVACY.ERASED',
    });
  });

  it('knows every column of text of every table that keeps its rows', () => {
    const undecided: string[] = [];
    for (const { tableName, columns } of clientTables(test.reader.manager.connection.entityMetadatas)) {
      const kept = KEPT[tableName];
      if (!kept) continue;
      for (const { propertyName, type, referencedColumn, isVersion } of columns) {
        const isText =
          type !== 'bigint' && type !== 'integer' && type !== 'double precision' && type !== 'boolean';
        const isId = propertyName === 'id' || propertyName.endsWith('Id') || referencedColumn;
        if (!isText || isId || isVersion) continue;
        if (!(propertyName in kept.empty) && !kept.counts.includes(propertyName)) {
          undecided.push(`${tableName}.${propertyName}`);
        }
      }
    }
    expect(undecided).toEqual([]);
  });
});

describe('how long things are kept', () => {
  let test: TestApp;
  let old: Marked;
  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
    old = await plantMarked(test);
    await test.units.run(async (manager) => {
      await manager.update(Message, { clientId: old.clientId }, { state: 'sent', body: MARKS.name });
    });
  });
  afterAll(() => test.close());

  const retention = () => test.app.get(Retention, { strict: false });

  it('is for ever until the owner says otherwise, in whole months within bounds', async () => {
    test.clock.at += 3650 * DAY_MS;
    expect(await retention().plan(test.salon.id)).toEqual({ clients: [], messages: 0 });
    for (const input of [
      { client: -1, message: 0 },
      { client: 1.5, message: 0 },
      { client: 241, message: 0 },
      {},
    ]) {
      await expect(retention().setRules(test.salon.id, input, OWNER)).rejects.toMatchObject({
        code: 'INPUT.INVALID',
      });
    }
    expect(await retention().rules(test.salon.id)).toEqual({ client: 0, message: 0 });
  });

  it('says in a dry run what it would take out, changes nothing, then takes out just that', async () => {
    // Newest thing of the old client: the appointment of 16 June 2026.
    test.clock.at = Date.parse('2028-06-10T08:00:00Z');
    await retention().setRules(test.salon.id, { client: '24', message: '12' }, OWNER);
    expect((await retention().plan(test.salon.id)).clients).toEqual([]);
    test.clock.at = Date.parse('2028-06-17T08:00:00Z');
    const fresh = await plantMarkedLater(test);
    const before = await everything(test);
    const plan = await retention().plan(test.salon.id);
    expect(plan.clients).toEqual([{ id: old.clientId, name: MARKS.name }]);
    expect(plan.messages).toBeGreaterThan(0);
    expect(await everything(test)).toBe(before);

    expect(await retention().apply(test.salon.id, OWNER)).toMatchObject({ clients: plan.clients });
    const client = await test.reader.manager.findOneByOrFail(Client, { id: old.clientId });
    expect(client.erasedAt).toBe(test.clock.at);
    expect(await test.reader.manager.findOneByOrFail(Client, { id: fresh })).toMatchObject({
      erasedAt: null,
    });
    expect(await test.reader.manager.countBy(Appointment, { clientId: old.clientId })).toBe(1);
    expect(await retention().plan(test.salon.id)).toEqual({ clients: [], messages: 0 });
    expect(await test.reader.manager.count(Account)).toBe(3);
  });
});

/** A client who was added now, with nothing else. */
async function plantMarkedLater(test: TestApp): Promise<string> {
  const { client } = await test.app
    .get(Clients, { strict: false })
    .add({ salonId: test.salon.id, givenName: 'Fresh' }, OWNER);
  return client.id;
}
