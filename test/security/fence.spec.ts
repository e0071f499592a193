import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { type DeclaredRoute, declaredRoutes } from '../../src/http/routes.js';
import { Account, type Role, SYSTEM } from '../../src/identity/index.js';
import { Salons } from '../../src/salon/index.js';
import { newId } from '../../src/store/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CROP } from '../factories/cuts.js';
import { SALON_INPUT } from '../factories/salon.js';
import { dataVersion, MARKS, type Marked, openSession, plantMarked } from '../factories/security.js';

jest.setTimeout(120_000);

// OWASP API Security Top 10 (2023), API1: an id in a request must be held against who asks, at every route.
describe('whoever is on the staff of one salon', () => {
  let test: TestApp;
  let marked: Marked;
  let routes: DeclaredRoute[];

  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
    marked = await plantMarked(test);
    const salons = test.app.get(Salons, { strict: false });
    const other = await salons.add({ ...SALON_INPUT, name: 'Second chair' }, SYSTEM);
    for (const role of ['stylist', 'desk'] as const) {
      const { id: accountId } = await test.reader.manager.findOneByOrFail(Account, { role });
      const before = await salons.staffOf(accountId);
      if (before) await salons.changeStaff(before.id, { accountId: '' }, SYSTEM);
      await salons.addStaff(other.id, { name: `Bound ${role}`, accountId }, SYSTEM);
    }
    routes = declaredRoutes(test.app).filter(({ path }) => path.includes(':'));
  });
  afterAll(() => test.close());

  const filled = (path: string): string =>
    path
      .replace(/\/clients\/:[a-zA-Z]+/, `/clients/${marked.clientId}`)
      .replace(/\/appointments\/:[a-zA-Z]+/, `/appointments/${marked.appointmentId}`)
      .replace(/\/visits\/:[a-zA-Z]+/, `/visits/${marked.visitId}`)
      .replace(/\/staff\/:[a-zA-Z]+/, `/staff/${test.mara.id}`)
      .replace(/:[a-zA-Z]+/g, newId());

  it.each(['stylist', 'desk'] as const)('reaches nothing of another, by whatever id: %s', async (role) => {
    const authorization = `Bearer ${await openSession(test.app, role)}`;
    const wrong: string[] = [];
    let elsewhere = 0;
    for (const { method, path } of routes) {
      const before = await dataVersion(test.reader);
      const { statusCode, body } = await test.app.inject({
        method: method as 'GET',
        url: filled(path),
        headers: { authorization },
        ...(method !== 'GET' && { payload: {} }),
      });
      const where = `${method} ${path}: ${statusCode}`;
      if (body.includes('SALON.ELSEWHERE')) elsewhere += 1;
      if (Object.values(MARKS).some((mark) => body.includes(mark))) wrong.push(`${where} leaks`);
      if (statusCode >= 500) wrong.push(`${where} failed`);
      const isKnown = /\/(clients|appointments|visits|staff)\/:/.test(path);
      if (isKnown && statusCode < 400) wrong.push(`${where} let in`);
      if ((await dataVersion(test.reader)) !== before) wrong.push(`${where} changed something`);
    }
    expect(wrong).toEqual([]);
    expect(elsewhere).toBeGreaterThan(10);
  });

  it('cannot book or write for a client of another by an id in the body', async () => {
    const headers = { authorization: `Bearer ${await openSession(test.app, 'stylist')}` };
    const { clientId } = marked;
    const sitting = { clientId, staffId: test.mara.id, serviceId: test.fullCut.id };
    const bodies = {
      appointments: { ...sitting, date: '2026-06-17', time: '10:00' },
      visits: { ...sitting, formula: CROP },
      waiting: { clientId, serviceId: test.fullCut.id, fromDate: '2026-06-17', toDate: '2026-06-20' },
    };
    for (const [path, payload] of Object.entries(bodies)) {
      const before = await dataVersion(test.reader);
      const answer = await test.app.inject({ method: 'POST', url: `/api/v1/${path}`, headers, payload });
      expect([path, answer.statusCode, answer.json()['code']]).toEqual([path, 404, 'SALON.ELSEWHERE']);
      expect(await dataVersion(test.reader)).toBe(before);
    }
  });

  it('works in her own, and the owner in all', async () => {
    const ask = async (role: Role, url: string, payload?: object) =>
      await test.app.inject({
        method: payload ? 'POST' : 'GET',
        url,
        headers: { authorization: `Bearer ${await openSession(test.app, role)}` },
        ...(payload && { payload }),
      });
    const made = await ask('desk', '/api/v1/clients', { givenName: 'Own' });
    const { id } = made.json()['client'] as { id: string };
    expect((await ask('stylist', `/api/v1/clients/${id}`)).statusCode).toBe(200);
    expect((await ask('stylist', `/clients/${id}`)).statusCode).toBe(200);
    expect((await ask('stylist', `/api/v1/clients/${marked.clientId}`)).statusCode).toBe(404);
    expect((await ask('owner', `/api/v1/clients/${marked.clientId}`)).statusCode).toBe(200);
    expect((await ask('owner', `/api/v1/clients/${id}`)).statusCode).toBe(200);
  });
});
