import { mkdtemp, rm } from 'node:fs/promises';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { AppModule } from '../../src/app.module.js';
import { createServer } from '../../src/http/index.js';
import { declaredRoutes } from '../../src/http/routes.js';
import { SignIn } from '../../src/identity/index.js';
import { Reader, readSettings, UnitOfWork } from '../../src/store/index.js';
import { PASSWORD, startTestApp, type TestApp } from '../factories/app.js';
import { Jar, MARKS, openSession, plantMarked } from '../factories/security.js';

// The whole product starts, and hashing is slow on purpose: a busy machine takes its time.
jest.setTimeout(120_000);

describe('every answer', () => {
  let test: TestApp;
  let base: string;
  beforeAll(async () => {
    test = await startTestApp();
    await test.app.listen(0, '127.0.0.1');
    base = await test.app.getUrl();
  });
  afterAll(() => test.close());

  it.each([
    ['a page', 'GET', '/sign-in', 200],
    ['a redirection', 'GET', '/today', 303],
    ['a page that is not', 'GET', '/nowhere', 404],
    ['a file', 'GET', '/assets/halfinch.css', 200],
    ['a file that is not', 'GET', '/assets/none.css', 404],
    ['a folder of files', 'GET', '/assets/', 403],
    ['a path out of the files', 'GET', '/assets/..%2f..%2fpackage.json', 404],
    ['an answer of the API', 'GET', '/api/v1/clients', 401],
    ['a route of the API that is not', 'GET', '/api/v1/none', 404],
    ['a method that is not', 'DELETE', '/sign-in', 403],
    ['a form without its token', 'POST', '/sign-in', 403],
    ['an address that is none', 'GET', '/%zz', 400],
    ['a parameter that is too long', 'GET', `/clients/${'x'.repeat(300)}`, 414],
  ])('has its security headers: %s', async (_, method, path, status) => {
    const answer = await fetch(base + path, { method, redirect: 'manual' });
    expect(answer.status).toBe(status);
    const policy = answer.headers.get('content-security-policy') ?? '';
    expect(policy).toContain("default-src 'none'");
    expect(policy).toContain("frame-ancestors 'none'");
    expect(policy).not.toContain('unsafe');
    expect(answer.headers.get('x-content-type-options')).toBe('nosniff');
    expect(answer.headers.get('referrer-policy')).toBe('no-referrer');
    const isFile = status === 200 && path.startsWith('/assets/');
    expect(answer.headers.get('cache-control')).toContain(isFile ? 'max-age' : 'no-store');
    expect(answer.headers.get('x-powered-by')).toBeNull();
    expect(answer.headers.get('server')).toBeNull();
    expect(answer.headers.get('access-control-allow-origin')).toBeNull();
    const body = await answer.text();
    if (body !== '') expect(answer.headers.get('content-type')).toMatch(/charset=utf-8/i);
    expect(body).not.toMatch(/node_modules|\.ts:\d+|at [\w.]+ \(/);
  });

  it('refuses TRACE and what is no HTTP', async () => {
    const said = async (text: string): Promise<string> =>
      await new Promise((resolve, reject) => {
        const socket = connect(Number(new URL(base).port), '127.0.0.1', () => socket.end(text));
        let all = '';
        socket.on('data', (chunk) => {
          all += chunk.toString();
        });
        socket.on('close', () => resolve(all));
        socket.on('error', reject);
      });
    expect(await said('TRACE / HTTP/1.1\r\nHost: x\r\nCookie: halfinch=secret\r\n\r\n')).not.toContain(
      'secret',
    );
    expect(await said('TRACE / HTTP/1.1\r\nHost: x\r\n\r\n')).toMatch(/^HTTP\/1\.1 4\d\d/);
    // RFC 9112 6.1: a message with both is to be refused or its length ignored; Node refuses it.
    const smuggled =
      'POST /sign-in HTTP/1.1\r\nHost: x\r\nContent-Length: 4\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n';
    expect(await said(smuggled)).toMatch(/^HTTP\/1\.1 400/);
  });

  it('has cookies that scripts cannot read and other sites cannot use', async () => {
    const jar = new Jar(test.app);
    const answer = await jar.post('/sign-in', {
      email: 'owner@wren-tallow.example.org',
      password: PASSWORD,
      next: '/',
    });
    const form = await test.app.inject('/sign-in');
    const cookies = [answer, form].flatMap(({ headers }) => [headers['set-cookie'] ?? []].flat());
    expect(cookies).toHaveLength(2);
    for (const cookie of cookies) {
      expect(cookie).toContain('HttpOnly');
      expect(cookie).toContain('SameSite=Lax');
      expect(cookie).toContain('Path=/');
      expect(cookie.length).toBeLessThan(4096);
    }
  });

  it('tells nothing of what went wrong inside', async () => {
    const token = await openSession(test.app, 'owner');
    const reader = test.app.get(Reader, { strict: false });
    const broken = jest
      .spyOn(reader.manager, 'find')
      .mockRejectedValue(new Error('secret of the database at /srv/x.ts:1'));
    try {
      for (const url of ['/api/v1/salon', '/today']) {
        const answer = await test.app.inject({ url, headers: { authorization: `Bearer ${token}` } });
        expect(answer.statusCode).toBe(500);
        expect(answer.body).not.toContain('secret of the database');
        expect(answer.headers['content-security-policy']).toContain("default-src 'none'");
      }
    } finally {
      broken.mockRestore();
    }
  });

  // BREACH (Gluck, Harris and Prado 2013): what the address says must not stand beside secrets in one compressed answer.
  it.each([
    ['/sign-in', 'br'],
    ['/assets/halfinch.css', 'br'],
    ['/sign-in?next=/today', undefined],
    ['/sign-in?show=wanted', 'br'],
    ['/sign-in?show=wanted&next=/today', undefined],
  ])('is compressed unless its address could say something: %s %s', async (url, encoding) => {
    const answer = await test.app.inject({ method: 'GET', url, headers: { 'accept-encoding': 'gzip, br' } });
    expect(answer.statusCode).toBe(200);
    expect(answer.headers['content-encoding']).toBe(encoding);
  });

  it('takes no more than it can chew', async () => {
    const jar = new Jar(test.app);
    const big = await jar.post('/sign-in', { email: 'x'.repeat(300_000), password: '', next: '/' });
    expect(big.statusCode).toBe(413);
    expect(big.body).toContain('larger than this accepts');
    const many = await test.app.inject({
      method: 'POST',
      url: '/api/v1/sessions',
      headers: { 'content-type': 'application/json' },
      payload: '['.repeat(100_000),
    });
    expect(many.statusCode).toBe(400);
  });

  it('is not swayed by keys that would reach into every object', async () => {
    const send = (payload: string) =>
      test.app.inject({
        method: 'POST',
        url: '/api/v1/sessions',
        headers: { 'content-type': 'application/json' },
        payload,
      });
    for (const key of ['__proto__', 'constructor', 'prototype']) {
      const answer = await send(`{"email":"a@example.org","password":"x","${key}":{"role":"owner"}}`);
      expect([400, 401, 422]).toContain(answer.statusCode);
    }
    expect(({} as Record<string, unknown>)['role']).toBeUndefined();
  });

  it('reads a repeated parameter as no parameter it knows, and stays up', async () => {
    const token = await openSession(test.app, 'owner');
    const headers = { authorization: `Bearer ${token}` };
    for (const { path } of declaredRoutes(test.app).filter(({ method }) => method === 'GET')) {
      const { clientId } = await marked(test);
      const url = path.replace(/:[a-zA-Z]+/g, clientId);
      const twice =
        '?search=a&search=b&from=1&from=2&date=x&date=y&limit=1&limit=2&next=a&next=b&on=1&on=2&link=a&link=b&until=1&until=2';
      const answer = await test.app.inject({ url: url + twice, headers });
      expect([path, answer.statusCode < 500]).toEqual([path, true]);
    }
  });

  it('lists nothing that the asker’s role may not list', async () => {
    const planted = await marked(test);
    const answer = await test.ask('desk', 'GET', `/api/v1/clients/${planted.clientId}`);
    expect(JSON.stringify(answer.body)).toContain(MARKS.name);
    expect(JSON.stringify(answer.body)).not.toContain('healthNotes');
    const accounts = await test.app.inject({
      url: '/people',
      headers: { authorization: `Bearer ${await openSession(test.app, 'owner')}` },
    });
    expect(accounts.body).not.toContain('argon2');
  });
});

const planted = new WeakMap<TestApp, ReturnType<typeof plantMarked>>();
function marked(test: TestApp): ReturnType<typeof plantMarked> {
  const known = planted.get(test) ?? plantMarked(test);
  planted.set(test, known);
  return known;
}

describe('behind TLS', () => {
  let folder: string;
  let app: NestFastifyApplication;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'halfinch-tls-'));
    const settings = readSettings({
      HALFINCH_DATA: folder,
      LOG_LEVEL: 'silent',
      DISPATCH_EVERY_MS: '3600000',
      PUBLIC_URL: 'https://book.example.org',
      TRUST_PROXY: '127.0.0.1',
      STRANGERS_PER_MINUTE: '20',
      API_PER_MINUTE: '3',
    });
    app = await createServer(AppModule.with(settings), settings);
    await app.init();
    await app.getHttpAdapter().getInstance().ready();
  });
  afterAll(async () => {
    await app.close();
    await rm(folder, { recursive: true });
  });

  it('marks cookies for this host and TLS alone, and tells browsers to stay with it', async () => {
    const answer = await app.inject('/set-up');
    const [cookie] = [answer.headers['set-cookie'] ?? []].flat();
    expect(cookie).toMatch(/^__Host-_csrf=/);
    expect(cookie).toContain('Secure');
    expect(cookie).not.toContain('Domain');
    expect(answer.headers['strict-transport-security']).toBe('max-age=31536000; includeSubDomains');
    expect((await app.inject('/nowhere')).headers['strict-transport-security']).toContain('max-age=31536000');
  });

  it('holds strangers to a number of requests a minute, each address for itself', async () => {
    const ask = (forwarded: string, remoteAddress = '127.0.0.1') =>
      app.inject({ url: '/set-up', remoteAddress, headers: { 'x-forwarded-for': forwarded } });
    const answers = [];
    for (let i = 0; i < 25; i += 1) answers.push((await ask('198.51.100.1')).statusCode);
    expect(answers.slice(0, 20).every((status) => status === 200)).toBe(true);
    expect(answers.at(-1)).toBe(429);
    expect((await ask('198.51.100.2')).statusCode).toBe(200);
    // What no proxy of ours says counts for nothing: the address is then the caller's own.
    const forged = [];
    for (let i = 0; i < 25; i += 1) forged.push((await ask(`203.0.113.${i}`, '192.0.2.66')).statusCode);
    expect(forged.at(-1)).toBe(429);
  });

  it('holds a program to a number of requests a minute, and says what is left and when to come back', async () => {
    const units = app.get(UnitOfWork, { strict: false });
    await units.run((manager) =>
      app.get(SignIn).addAccount(manager, {
        email: 'owner@example.org',
        name: 'Owner',
        role: 'owner',
        passwordHash: 'none',
      }),
    );
    const headers = { authorization: `Bearer ${await openSession(app, 'owner')}` };
    const answers = [];
    for (let i = 0; i < 4; i += 1) answers.push(await app.inject({ url: '/api/v1/salons', headers }));
    expect(answers.map(({ statusCode }) => statusCode)).toEqual([200, 200, 200, 429]);
    expect(answers[0]?.headers).toMatchObject({ 'ratelimit-policy': '"api";q=3;w=60' });
    expect(answers[1]?.headers['ratelimit']).toMatch(/^"api";r=1;t=\d+$/);
    const [refused] = answers.slice(-1);
    expect(Number(refused?.headers['retry-after'])).toBeGreaterThan(0);
    expect(refused?.json()).toMatchObject({ code: 'REQUESTS.TOO_MANY' });
  });
});
