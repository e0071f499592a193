import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Client } from 'pg';
import sqlite3 from 'sqlite3';
import { startTestApp, type TestApp } from '../factories/app.js';
import { isOnPostgres } from '../factories/database.js';

/** Takes hold of the database from outside, as a repair or a copy by hand does; call what it returns to let it go. */
async function takeHold(test: TestApp): Promise<() => Promise<void>> {
  const { options } = test.reader.manager.connection;
  if (options.type === 'postgres') {
    const other = new Client({ connectionString: options.url });
    await other.connect();
    await other.query('BEGIN');
    await other.query('LOCK TABLE client IN ACCESS EXCLUSIVE MODE');
    return () => other.end();
  }
  // Ten seconds otherwise: for one that is known to wait in vain, too long.
  await test.units.run((manager) => manager.query('PRAGMA busy_timeout = 500'));
  const other = new sqlite3.Database(String(options.database));
  const run = (sql: string) =>
    new Promise<void>((done, failed) => {
      other.run(sql, (error) => (error ? failed(error) : done()));
    });
  await run('BEGIN IMMEDIATE');
  return async () => {
    await run('ROLLBACK');
    await new Promise<void>((closed) => other.close(() => closed()));
  };
}

describe('while something else holds the database', () => {
  let test: TestApp;
  beforeEach(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z', { STATEMENT_MS: '1500' });
    // Signed in before: that is written down too.
    await test.ask('desk', 'GET', '/clients');
  });
  afterEach(() => test.close());

  const ADDED = { givenName: 'Ottilie', familyName: 'Farnsby' };
  const people = async () => {
    const { body } = await test.ask('desk', 'GET', '/api/v1/clients?search=Farnsby');
    return (body['clients'] as unknown[]).length;
  };

  // RFC 9110, 15.6.4 and 10.2.3: 503 for a while that passes, Retry-After says when to come again.
  it('what would write is answered 503 with when to come again, changes nothing, and goes through afterwards', async () => {
    const letGo = await takeHold(test);
    const api = await test.ask('desk', 'POST', '/api/v1/clients', ADDED);
    const form = await test.ask('desk', 'POST', '/clients/new', ADDED);
    await letGo();

    expect(api).toMatchObject({
      status: 503,
      headers: { 'retry-after': '2' },
      body: { code: 'SERVER.BUSY', detail: expect.stringContaining('try again') },
    });
    expect(form).toMatchObject({ status: 503, headers: { 'retry-after': '2' } });
    expect(form.body['text']).toContain('Nothing of this request was kept: please try again.');
    // Asking for the address anew would not send what was typed.
    expect(form.body['text']).not.toContain('>Try again</a>');
    expect(await people()).toBe(0);
    expect((await test.ask('desk', 'POST', '/api/v1/clients', ADDED)).status).toBe(201);
    expect(await people()).toBe(1);
  });

  it('a page to be read shows as before where readers wait for nobody, else offers to try again', async () => {
    const letGo = await takeHold(test);
    const page = await test.ask('desk', 'GET', '/clients?q=Farn');
    await letGo();
    if (isOnPostgres()) {
      expect(page).toMatchObject({ status: 503, headers: { 'retry-after': '2' } });
      expect(page.body['text']).toContain('href="/clients?q&#x3D;Farn">Try again</a>');
      expect(page.body['text']).toContain('<h1>');
    } else expect(page.status).toBe(200);
    expect((await test.ask('desk', 'GET', '/clients?q=Farn')).status).toBe(200);
  });
});
