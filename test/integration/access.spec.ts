import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { Controller, Get, Module } from '@nestjs/common';
import { NestFactory } from '@nestjs/core';
import { Appointment, ClientLinks } from '../../src/book/index.js';
import { Needs } from '../../src/http/index.js';
import { type DeclaredRoute, declaredRoutes, requireNeeds } from '../../src/http/routes.js';
import { ACCESS, ACTIONS, type Action, ApiTokens, type Role, SCOPES } from '../../src/identity/index.js';
import { newId } from '../../src/store/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { dataVersion, Jar, MARKS, type Marked, openSession, plantMarked } from '../factories/security.js';

// The whole product starts, and hashing is slow on purpose: a busy machine takes its time.
jest.setTimeout(120_000);

/** Written down a second time on purpose: a right that is given or taken by a slip must fail here. */
const EXPECTED: Record<Action, readonly Role[]> = {
  'client.read': ['stylist', 'desk', 'owner'],
  'client.write': ['stylist', 'desk', 'owner'],
  'client.health': ['stylist', 'owner'],
  'cut.read': ['stylist', 'owner'],
  'cut.write': ['stylist', 'owner'],
  'skin-test.read': ['stylist', 'desk', 'owner'],
  'skin-test.write': ['stylist', 'owner'],
  'book.read': ['stylist', 'desk', 'owner'],
  'book.write': ['stylist', 'desk', 'owner'],
  'message.read': ['desk', 'owner'],
  'message.write': ['desk', 'owner'],
  'report.open': ['stylist', 'desk', 'owner'],
  'report.read': ['owner'],
  'report.own': ['stylist', 'owner'],
  'report.outlook': ['desk', 'owner'],
  'report.write': ['owner'],
  'salon.read': ['stylist', 'desk', 'owner'],
  'salon.write': ['owner'],
  'rota.write': ['desk', 'owner'],
  'audit.read': ['owner'],
  'import.write': ['owner'],
  'privacy.read': ['owner'],
  'privacy.write': ['owner'],
  'account.self': ['stylist', 'desk', 'owner'],
  'account.manage': ['owner'],
};

/** Routes that are no controller's: files, and the description of the API. */
const NOT_NEST = /^(GET|HEAD) \/(assets\/|api\/docs)/;

/** Links in messages and calls that are signed bring a proof of their own and act for nobody's session. */
const CARRIES_ITS_PROOF = /^\/(unsubscribe|a|n|o|api\/v1\/(texts|mails))\//;

/** What a turned-away form or program is told. */
const TOLD = /ACCESS\.REFUSED|role does not|needs your password|not given that right/;

/** Everybody who may knock: roles by password, an owner by PIN, a token for one small thing, and a stranger. */
const KNOCKERS = ['stylist', 'desk', 'owner', 'owner by PIN', 'token', 'nobody'] as const;
type Knocker = (typeof KNOCKERS)[number];
const TOKEN_SCOPE: Action = 'salon.read';

function mayPass(knocker: Knocker, { need, path }: DeclaredRoute): boolean {
  if (need === 'open') return true;
  if (need === undefined || knocker === 'nobody') return false;
  if (knocker === 'token') return need === TOKEN_SCOPE && path.startsWith('/api/');
  if (knocker === 'owner by PIN') return need !== 'account.self' && EXPECTED[need].includes('stylist');
  return EXPECTED[need].includes(knocker);
}

describe('who may do what', () => {
  let test: TestApp;
  let marked: Marked;
  let routes: DeclaredRoute[];
  const bearer = new Map<Knocker, () => Promise<string | undefined>>();

  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
    marked = await plantMarked(test);
    routes = declaredRoutes(test.app);
    for (const role of ['stylist', 'desk', 'owner'] as const) {
      bearer.set(role, () => openSession(test.app, role));
    }
    bearer.set('owner by PIN', () => openSession(test.app, 'owner', 'pin'));
    bearer.set('nobody', () => Promise.resolve(undefined));
    const { accountId } = (
      await test.reader.manager.query(`SELECT id AS "accountId" FROM account WHERE role = 'owner'`)
    )[0] as { accountId: string };
    const made = await test.app
      .get(ApiTokens, { strict: false })
      .make(
        { name: 'small', scopes: [TOKEN_SCOPE], days: 1 },
        { accountId, name: '', email: '', role: 'owner', via: 'password' },
        { accountId, role: 'owner' },
      );
    bearer.set('token', () => Promise.resolve(made.token));
  });
  afterAll(() => test.close());

  const filled = (path: string): string =>
    path
      .replace(/^(\/api\/v1)?\/(clients)\/:[a-zA-Z]+/, `$1/$2/${marked.clientId}`)
      .replace(/^(\/api\/v1)?\/(appointments)\/:[a-zA-Z]+/, `$1/$2/${marked.appointmentId}`)
      .replace(/^(\/api\/v1)?\/(visits)\/:[a-zA-Z]+/, `$1/$2/${marked.visitId}`)
      .replace(/:[a-zA-Z]+/g, newId());

  const knock = async (knocker: Knocker, { method, path }: DeclaredRoute) => {
    const token = await bearer.get(knocker)?.();
    const isForm = method === 'POST' && !path.startsWith('/api/');
    if (!token && isForm) {
      // A stranger too can get a form's CSRF token: it must not be what holds her off.
      const jar = new Jar(test.app);
      const form = { _csrf: await jar.csrf() };
      const was = await dataVersion(test.reader);
      const answer = await jar.ask('POST', filled(path), form);
      return { answer, changed: (await dataVersion(test.reader)) !== was };
    }
    const before = await dataVersion(test.reader);
    const answer = await test.app.inject({
      method: method as 'GET',
      url: filled(path),
      headers: { ...(token && { authorization: `Bearer ${token}` }) },
      ...(method !== 'GET' && { payload: {} }),
    });
    return { answer, changed: (await dataVersion(test.reader)) !== before };
  };

  it('is what it was meant to be', () => {
    expect(ACCESS).toEqual(EXPECTED);
    expect(SCOPES).toEqual(ACTIONS.filter((action) => !action.startsWith('account.')));
  });

  it('is said by every route', () => {
    expect(routes.filter(({ need }) => need === undefined)).toEqual([]);
    expect(routes.length).toBeGreaterThan(60);
    expect(() => requireNeeds(test.app)).not.toThrow();
  });

  it('is said by everything the server answers, but for files and the description of the API', () => {
    const known = new Set(routes.map(({ method, path }) => `${method} ${path}`));
    const served = (test.app.getHttpAdapter().getInstance() as unknown as { routesServed: string[] })
      .routesServed;
    const strays = served.filter((route) => {
      const asGet = route.replace(/^HEAD /, 'GET ').replace(/([^ ])\/$/, '$1');
      return !known.has(asGet) && !NOT_NEST.test(route);
    });
    expect(strays).toEqual([]);
    expect(served.length).toBeGreaterThan(routes.length);
  });

  it('lets no build start whose route says nothing', async () => {
    @Controller('bare')
    class BareController {
      @Get('said')
      @Needs('book.read')
      said(): void {}

      @Get('unsaid')
      unsaid(): void {}
    }
    @Module({ controllers: [BareController] })
    class BareModule {}
    const bare = await NestFactory.createApplicationContext(BareModule, { logger: false });
    expect(() => requireNeeds(bare)).toThrow('GET /bare/unsaid (BareController.unsaid)');
    expect(() => requireNeeds(bare)).not.toThrow('BareController.said');
    await bare.close();
  });

  it.each(KNOCKERS)('holds at every route: %s', async (knocker) => {
    const wrong: string[] = [];
    for (const route of routes) {
      const { answer, changed } = await knock(knocker, route);
      const { statusCode, body, headers } = answer;
      const where = `${route.method} ${route.path} (${route.need}): ${statusCode}`;
      const toSignIn = statusCode === 303 && String(headers.location).startsWith('/sign-in?next=');
      const turnedAway = statusCode === 401 || toSignIn || (statusCode === 403 && TOLD.test(body));
      if (mayPass(knocker, route)) {
        if (turnedAway) wrong.push(`${where} turned away`);
        if (statusCode >= 500) wrong.push(`${where} failed`);
      } else {
        if (!turnedAway) wrong.push(`${where} let in`);
        if (changed) wrong.push(`${where} changed something`);
        if (Object.values(MARKS).some((mark) => body.includes(mark))) wrong.push(`${where} leaks`);
      }
      const maySeeHealth = knocker !== 'nobody' && knocker !== 'desk' && knocker !== 'token';
      if (!maySeeHealth && body.includes(MARKS.health)) wrong.push(`${where} leaks health notes`);
    }
    expect(wrong).toEqual([]);
  });

  it('opens with another client’s link nothing but that client’s own appointment', async () => {
    const mine = await plantMarked(test);
    const guest = await test.ask('owner', 'POST', '/api/v1/clients', { givenName: 'Other' });
    const { id: otherId } = (guest.body as { client: { id: string } }).client;
    const booked = await test.ask('desk', 'POST', '/api/v1/appointments', {
      clientId: otherId,
      staffId: test.mara.id,
      serviceId: test.fullCut.id,
      date: '2026-06-17',
      time: '15:00',
    });
    const { id } = (booked.body as { appointment: { id: string } }).appointment;
    const link = await test.units.run(async (manager) =>
      test.app
        .get(ClientLinks, { strict: false })
        .issue(manager, await manager.findOneByOrFail(Appointment, { id })),
    );
    const own = await test.app.inject(`/api/v1/links/${link}`);
    expect(own.statusCode).toBe(200);

    const wrong: string[] = [];
    for (const { method, path, need } of routes) {
      const takesLink = path.includes(':token');
      const isLinks = takesLink && /^\/(a|api\/v1\/links)\//.test(path);
      const before = await dataVersion(test.reader);
      const answer = await test.app.inject({
        method: method as 'GET',
        url: takesLink
          ? path.replace(':token', link)
          : filled(path).replaceAll(marked.clientId, mine.clientId),
        headers: { authorization: `Bearer ${link}` },
        ...(method !== 'GET' && { payload: {} }),
      });
      const where = `${method} ${path} (${need}): ${answer.statusCode}`;
      const kept = (await dataVersion(test.reader)) === before;
      if (Object.values(MARKS).some((mark) => answer.body.includes(mark))) wrong.push(`${where} leaks`);
      if (answer.body.includes(mine.clientId)) wrong.push(`${where} names her`);
      if (answer.statusCode >= 500) wrong.push(`${where} failed`);
      if (need === 'open') {
        if (takesLink && !isLinks && (answer.statusCode < 400 || !kept))
          wrong.push(`${where} took a link of another kind`);
      } else {
        const turnedAway =
          answer.statusCode === 401 || String(answer.headers.location).startsWith('/sign-in?');
        if (!turnedAway || !kept) wrong.push(`${where} let her in`);
      }
    }
    expect(wrong).toEqual([]);
  });

  it('finds the marks where they may be seen, so that their absence means something', async () => {
    const fresh = await plantMarked(test);
    const token = await openSession(test.app, 'owner');
    const headers = { authorization: `Bearer ${token}` };
    const card = await test.app.inject({ url: `/clients/${fresh.clientId}`, headers });
    for (const mark of [MARKS.name, MARKS.notes, MARKS.health]) expect(card.body).toContain(mark);
    const desk = await openSession(test.app, 'desk');
    const seen = await test.app.inject({
      url: `/clients/${fresh.clientId}/edit`,
      headers: { authorization: `Bearer ${desk}` },
    });
    expect(seen.body).toContain(MARKS.name);
    expect(seen.body).not.toContain(MARKS.health);
  });

  it('keeps a token to what its scopes name, health notes too', async () => {
    const make = async (scopes: readonly Action[]) => {
      const answer = await test.app.inject({
        method: 'POST',
        url: '/api/v1/tokens',
        headers: { authorization: `Bearer ${await openSession(test.app, 'stylist')}` },
        payload: { name: 'program', scopes, days: 30 },
      });
      expect(answer.statusCode).toBe(201);
      return answer.json()['token'] as string;
    };
    const ask = async (token: string, method: 'GET' | 'POST', url: string, payload?: object) =>
      await test.app.inject({
        method,
        url,
        headers: { authorization: `Bearer ${token}` },
        ...(payload && { payload }),
      });
    const reads = await make(['client.read']);
    expect((await ask(reads, 'GET', '/api/v1/clients?search=zeph')).statusCode).toBe(200);
    expect((await ask(reads, 'POST', '/api/v1/clients', { givenName: 'X' })).statusCode).toBe(403);
    expect((await ask(reads, 'GET', '/clients')).statusCode).toBe(403);
    expect((await ask(reads, 'GET', '/api/v1/tokens')).statusCode).toBe(403);
    const writes = await make(['client.write']);
    const refused = await ask(writes, 'POST', '/api/v1/clients', { givenName: 'X', healthNotes: 'nuts' });
    expect(refused.json()).toMatchObject({ status: 403, code: 'CLIENT.HEALTH_FORBIDDEN' });
    expect((await ask(writes, 'POST', '/api/v1/clients', { givenName: 'X' })).statusCode).toBe(201);
    const both = await make(['client.write', 'client.health']);
    expect(
      (await ask(both, 'POST', '/api/v1/clients', { givenName: 'X', healthNotes: 'nuts' })).statusCode,
    ).toBe(201);
  });

  it('asks every form that rides on a cookie for its CSRF token, and says so in plain words', async () => {
    const jar = new Jar(test.app);
    jar.set('halfinch', await openSession(test.app, 'owner'));
    const wrong: string[] = [];
    const writes = routes.filter(({ method, path }) => method !== 'GET' && !CARRIES_ITS_PROOF.test(path));
    for (const { method, path } of writes) {
      for (const form of [{ other: 'field' }, { _csrf: 'made-up' }] as Record<string, string>[]) {
        const before = await dataVersion(test.reader);
        const answer = await jar.ask(method as 'POST', filled(path), form);
        const told = /open too long/.test(answer.body);
        if (answer.statusCode !== 403 || !told || (await dataVersion(test.reader)) !== before) {
          wrong.push(`${method} ${path}: ${answer.statusCode} ${answer.body.slice(0, 80)}`);
        }
      }
    }
    expect(wrong).toEqual([]);
    expect(writes.length).toBeGreaterThan(30);
  });
});
