import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { Secret, TOTP } from 'otpauth';
import {
  Account,
  ApiToken,
  AuditEntry,
  PasswordLink,
  PasswordLinks,
  Session,
  SignIn,
} from '../../src/identity/index.js';
import { PASSWORD, startTestApp, type TestApp } from '../factories/app.js';
import { letters, newestLink } from '../factories/letters.js';
import { Jar } from '../factories/security.js';

// The whole product starts, and hashing is slow on purpose: a busy machine takes its time.
jest.setTimeout(120_000);

const HOUR_MS = 3_600_000;
const mail = (role: string) => `${role}@wren-tallow.example.org`;

describe('signing in', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
  });
  afterAll(() => test.close());

  const start = (email: string, password: string, extra: object = {}, address = '192.0.2.1') =>
    test.app.inject({
      method: 'POST',
      url: '/api/v1/sessions',
      remoteAddress: address,
      payload: { email, password, ...extra },
    });
  const enter = async (jar: Jar, role: string, extra: Record<string, string> = {}) =>
    await jar.post('/sign-in', { email: mail(role), password: PASSWORD, next: '/today', ...extra });
  const later = (ms: number) => {
    test.clock.at += ms;
  };

  it('refuses a wrong password, an unknown name and a closed account alike', async () => {
    const wrong = await start(mail('owner'), 'not the password');
    const unknown = await start('nobody@example.org', 'not the password');
    expect(wrong.statusCode).toBe(401);
    expect(wrong.json()).toMatchObject({ code: 'SIGN_IN.REFUSED' });
    expect(unknown.statusCode).toBe(401);
    expect(unknown.json()).toEqual(wrong.json());
    const entries = await test.reader.manager.findBy(AuditEntry, { action: 'session.refuse' });
    expect(entries.map(({ address }) => address)).toEqual(['192.0.2.1', '192.0.2.1']);
    expect(JSON.stringify(entries)).not.toContain('nobody@example.org');
  });

  it('hashes for an unknown name as for a known one', async () => {
    later(48 * HOUR_MS);
    const taken: { known: number[]; unknown: number[] } = { known: [], unknown: [] };
    const signIn = test.app.get(SignIn);
    const once = async (email: string): Promise<number> => {
      later(24 * HOUR_MS + 1);
      const before = performance.now();
      await expect(signIn.signIn(email, 'not the password')).rejects.toMatchObject({
        code: 'SIGN_IN.REFUSED',
      });
      return performance.now() - before;
    };
    await once(mail('owner'));
    await once('nobody@example.org');
    for (let i = 0; i < 12; i += 1) {
      // In turns, each first half the time, so that a busy moment of the machine hits both.
      const pair = [
        ['known', mail('owner')],
        ['unknown', `nobody${i}@example.org`],
      ] as const;
      for (const [which, email] of i % 2 ? pair : pair.toReversed()) taken[which].push(await once(email));
    }
    // What a name would give away is the hashing: without it the answer comes in a fraction of the time. The least of
    // many is what either takes when nothing else is in the way.
    const ratio = Math.min(...taken.unknown) / Math.min(...taken.known);
    expect(ratio).toBeGreaterThan(0.6);
    expect(ratio).toBeLessThan(1 / 0.6);
  });

  it('slows guesses down by account and address, and leaves other addresses in', async () => {
    later(48 * HOUR_MS);
    for (let i = 0; i < 6; i += 1) {
      expect((await start(mail('desk'), `guess number ${i}`, {}, '198.51.100.7')).statusCode).toBe(401);
    }
    const slowed = await start(mail('desk'), PASSWORD, {}, '198.51.100.7');
    expect(slowed.statusCode).toBe(429);
    expect(slowed.json()['code']).toBe('SIGN_IN.SLOW');
    expect(slowed.headers['retry-after']).toBe('1');
    expect((await start(mail('desk'), PASSWORD, {}, '198.51.100.8')).statusCode).toBe(201);
    later(1001);
    expect((await start(mail('desk'), PASSWORD, {}, '198.51.100.7')).statusCode).toBe(201);
  });

  it('gives a hundred guesses at once no more than it gives one after the other', async () => {
    later(48 * HOUR_MS);
    const answers = await Promise.all(
      Array.from({ length: 100 }, (_, i) => start(mail('desk'), `guess number ${i}`, {}, '198.51.100.9')),
    );
    expect(answers.filter(({ statusCode }) => statusCode === 401).length).toBeLessThanOrEqual(6);
    expect(answers.filter(({ statusCode }) => statusCode === 429).length).toBeGreaterThanOrEqual(94);
  });

  it('slows an address that tries many names', async () => {
    later(48 * HOUR_MS);
    const answers = [];
    for (let i = 0; i < 32; i += 1) {
      answers.push(await start(`name${i}@example.org`, 'not the password', {}, '203.0.113.5'));
    }
    expect(answers.map(({ statusCode }) => statusCode).slice(0, 31)).not.toContain(429);
    expect(answers.at(-1)?.statusCode).toBe(429);
  });

  it('ends a browser that stands idle, and any session after half a day', async () => {
    later(48 * HOUR_MS);
    const jar = new Jar(test.app);
    expect((await enter(jar, 'stylist')).headers.location).toBe('/today');
    for (let i = 0; i < 3; i += 1) {
      later(3.5 * HOUR_MS);
      expect((await jar.ask('GET', '/account')).statusCode).toBe(200);
    }
    later(2 * HOUR_MS);
    expect((await jar.ask('GET', '/account')).headers.location).toBe('/sign-in?next=%2Faccount');

    const other = new Jar(test.app);
    await enter(other, 'stylist');
    later(4 * HOUR_MS + 60_000);
    expect((await other.ask('GET', '/account')).statusCode).toBe(303);
  });

  it('starts a session of its own at every sign-in and ends the one before', async () => {
    const jar = new Jar(test.app);
    await enter(jar, 'stylist');
    const count = () => test.reader.manager.countBy(Session, { kind: 'browser' });
    const before = await count();
    const tokens = await test.reader.manager.findBy(Session, { kind: 'browser' });
    await enter(jar, 'stylist');
    expect(await count()).toBe(before);
    const after = await test.reader.manager.findBy(Session, { kind: 'browser' });
    expect(after.map(({ tokenHash }) => tokenHash)).not.toEqual(tokens.map(({ tokenHash }) => tokenHash));
  });

  it('lists sessions and ends one, but nobody else’s', async () => {
    const mine = new Jar(test.app);
    const hers = new Jar(test.app);
    await enter(mine, 'stylist');
    await enter(hers, 'stylist');
    const page = (await mine.ask('GET', '/account')).body;
    const ids = [...page.matchAll(/\/account\/sessions\/([^/]+)\/end/g)].map(([, id]) => id ?? '');
    expect(ids.length).toBeGreaterThanOrEqual(2);
    const [newest = ''] = ids;

    const stranger = new Jar(test.app);
    await enter(stranger, 'desk');
    expect((await stranger.post(`/account/sessions/${newest}/end`)).statusCode).toBe(404);
    expect((await hers.ask('GET', '/account')).statusCode).toBe(200);
    expect((await mine.post(`/account/sessions/${newest}/end`)).statusCode).toBe(303);
    expect((await hers.ask('GET', '/account')).statusCode).toBe(303);
    expect((await mine.ask('GET', '/account')).statusCode).toBe(200);
  });

  it('goes on to our own pages only', async () => {
    for (const next of [
      '//evil.example.org',
      '/\\evil.example.org',
      'https://evil.example.org',
      'javascript:alert(1)',
    ]) {
      const jar = new Jar(test.app);
      const answer = await enter(jar, 'stylist', { next });
      expect(answer.headers.location).toBe('/');
    }
  });

  it('keeps tokens as hashes only', async () => {
    const { token } = (await start(mail('owner'), PASSWORD)).json() as { token: string };
    expect(token).toHaveLength(43);
    const rows = [
      ...(await test.reader.manager.find(Session)),
      ...(await test.reader.manager.find(ApiToken)),
      ...(await test.reader.manager.find(PasswordLink)),
    ];
    expect(rows.length).toBeGreaterThan(0);
    expect(JSON.stringify(rows)).not.toContain(token);
    expect(rows.every(({ tokenHash }) => /^[0-9a-f]{64}$/.test(tokenHash))).toBe(true);
  });

  describe('with one-time codes', () => {
    const codeAt = (secret: string, timestamp: number) =>
      new TOTP({ secret: Secret.fromBase32(secret) }).generate({ timestamp });

    it('asks for a code once they are on, takes each once, and lets a program send it too', async () => {
      later(HOUR_MS);
      const jar = new Jar(test.app);
      await enter(jar, 'desk');
      const page = (await jar.ask('GET', '/account')).body;
      const secret = /name="secret" value="([A-Z2-7]{32})"/.exec(page)?.[1] ?? '';
      const wrong = await jar.post('/account/codes', { secret, code: '000000', presentPassword: PASSWORD });
      expect(wrong.statusCode).toBe(422);
      const on = { secret, code: codeAt(secret, test.clock.at), presentPassword: PASSWORD };
      expect((await jar.post('/account/codes', { ...on, presentPassword: 'wrong' })).statusCode).toBe(422);
      expect((await jar.post('/account/codes', on)).statusCode).toBe(303);
      expect((await jar.ask('GET', '/account')).statusCode).toBe(200);
      const [row] = await test.reader.manager.query(
        `SELECT "totpSecret" AS s FROM account WHERE role = 'desk'`,
      );
      expect(row.s).toMatch(/^sealed:1:/);

      const browser = new Jar(test.app);
      const asked = await enter(browser, 'desk');
      expect(asked.statusCode).toBe(422);
      expect(asked.body).toContain('autocomplete="one-time-code"');
      // The code that switched them on is spent.
      const spent = await enter(browser, 'desk', { code: codeAt(secret, test.clock.at) });
      expect(spent.statusCode).toBe(422);
      later(30_000);
      const code = codeAt(secret, test.clock.at);
      expect((await enter(browser, 'desk', { code })).statusCode).toBe(303);
      expect((await start(mail('desk'), PASSWORD, { code })).statusCode).toBe(401);
      expect((await start(mail('desk'), PASSWORD)).json()['code']).toBe('SIGN_IN.CODE_NEEDED');
      expect((await start(mail('desk'), 'wrong password', { code })).json()['code']).toBe('SIGN_IN.REFUSED');
      later(30_000);
      const twice = await Promise.all(
        [1, 2].map(() => start(mail('desk'), PASSWORD, { code: codeAt(secret, test.clock.at) })),
      );
      expect(twice.map(({ statusCode }) => statusCode).sort()).toEqual([201, 401]);
    });

    it('still asks for it after the password was set anew by a link', async () => {
      later(HOUR_MS);
      await test.app.get(PasswordLinks, { strict: false }).ask(mail('desk')).done;
      const link = await newestLink(test.app);
      const jar = new Jar(test.app);
      const done = await jar.post('/new-password', { link, password: PASSWORD });
      expect(done.statusCode).toBe(200);
      expect((await enter(jar, 'desk')).body).toContain('one-time-code');
    });

    it('can be taken off by the owner for somebody who lost the authenticator', async () => {
      const desk = await test.reader.manager.findOneByOrFail(Account, { role: 'desk' });
      const owner = new Jar(test.app);
      await enter(owner, 'owner');
      expect((await owner.post(`/people/${desk.id}/codes/off`)).statusCode).toBe(303);
      const jar = new Jar(test.app);
      expect((await enter(jar, 'desk')).statusCode).toBe(303);
    });
  });

  it('changes the password after asking for the present one, and ends the other sessions', async () => {
    later(48 * HOUR_MS);
    const jar = new Jar(test.app);
    const other = new Jar(test.app);
    await enter(jar, 'stylist');
    await enter(other, 'stylist');
    const fresh = 'velvet ladder onion';
    const change = (presentPassword: string, password: string) =>
      jar.post('/account/password', { presentPassword, password });
    expect((await change('wrong password', fresh)).body).toContain('not the one you signed in with');
    expect((await change(PASSWORD, 'halfinch2026')).body).toContain('too easy to guess');
    expect((await change(PASSWORD, 'short')).statusCode).toBe(422);
    expect((await change(PASSWORD, fresh)).statusCode).toBe(303);
    expect((await jar.ask('GET', '/account')).statusCode).toBe(200);
    expect((await other.ask('GET', '/account')).statusCode).toBe(303);
    expect((await start(mail('stylist'), fresh)).statusCode).toBe(201);
    expect((await start(mail('stylist'), PASSWORD)).statusCode).toBe(401);
    expect(
      (await jar.post('/account/password', { presentPassword: fresh, password: PASSWORD })).statusCode,
    ).toBe(303);
  });

  describe('with a link for a new password', () => {
    it('answers alike whether there is such an account', async () => {
      const known = await new Jar(test.app).post('/forgotten', { email: mail('stylist') });
      const unknown = await new Jar(test.app).post('/forgotten', { email: 'nobody@example.org' });
      const words = (text: string) => text.replace(/name="_csrf" value="[^"]*"/g, '');
      expect(words(known.body)).toBe(words(unknown.body));
      expect(known.statusCode).toBe(unknown.statusCode);
    });

    it('is good once and for an hour, ends every session, and writes to few', async () => {
      later(48 * HOUR_MS);
      const links = test.app.get(PasswordLinks, { strict: false });
      const jar = new Jar(test.app);
      await enter(jar, 'stylist');
      await links.ask(mail('stylist')).done;
      const first = await newestLink(test.app);
      await links.ask(mail('stylist')).done;
      const second = await newestLink(test.app);
      expect(second).not.toBe(first);
      const use = (link: string, password = PASSWORD) =>
        new Jar(test.app).post('/new-password', { link, password });
      expect((await use(first)).statusCode).toBe(422);
      expect((await use(second, 'short')).statusCode).toBe(422);
      expect((await use(second)).statusCode).toBe(200);
      expect((await use(second)).statusCode).toBe(422);
      expect((await jar.ask('GET', '/account')).statusCode).toBe(303);

      await links.ask(mail('stylist')).done;
      const late = await newestLink(test.app);
      later(HOUR_MS + 1);
      expect((await new Jar(test.app).ask('GET', `/new-password?link=${late}`)).statusCode).toBe(410);
      expect((await use(late)).statusCode).toBe(422);

      later(48 * HOUR_MS);
      const before = (await letters(test.app)).length;
      for (let i = 0; i < 10; i += 1) await links.ask(mail('stylist')).done;
      expect((await letters(test.app)).length - before).toBe(4);
    });
  });

  describe('other people’s accounts', () => {
    it('are opened by a link, never with a password somebody else knows, and closed at once', async () => {
      later(48 * HOUR_MS);
      const owner = new Jar(test.app);
      await enter(owner, 'owner');
      const email = 'new.hand@example.org';
      const made = await owner.post('/people', { name: 'New Hand', email, role: 'stylist' });
      const link = /link(?:=|&#x3D;)([\w-]+)/.exec(made.body)?.[1] ?? '';
      expect((await owner.post('/people', { name: 'Twice', email, role: 'desk' })).statusCode).toBe(409);
      const hand = new Jar(test.app);
      expect((await hand.post('/new-password', { link, password: 'velvet ladder onion' })).statusCode).toBe(
        200,
      );
      expect(
        (await hand.post('/sign-in', { email, password: 'velvet ladder onion', next: '/' })).statusCode,
      ).toBe(303);
      const account = await test.reader.manager.findOneByOrFail(Account, { email });
      await owner.post(`/people/${account.id}/close`);
      expect((await hand.ask('GET', '/today')).statusCode).toBe(303);
      expect((await start(email, 'velvet ladder onion')).statusCode).toBe(401);
    });

    it('leave at least one owner', async () => {
      const owner = new Jar(test.app);
      await enter(owner, 'owner');
      const { id } = await test.reader.manager.findOneByOrFail(Account, { role: 'owner' });
      expect((await owner.post(`/people/${id}/close`)).statusCode).toBe(409);
      expect((await owner.ask('GET', '/people')).statusCode).toBe(200);
    });
  });

  it('shows an API token once, ends it, and lets it end by itself', async () => {
    later(HOUR_MS);
    const { token: session } = (await start(mail('stylist'), PASSWORD)).json() as { token: string };
    const ask = (token: string, method: 'GET' | 'POST' | 'DELETE', url: string, payload?: object) =>
      test.app.inject({
        method,
        url,
        headers: { authorization: `Bearer ${token}` },
        ...(payload && { payload }),
      });
    const input = { name: 'till', scopes: ['client.read'], days: 7 };
    const made = (await ask(session, 'POST', '/api/v1/tokens', input)).json() as {
      token: string;
      id: string;
    };
    expect(made.token).toMatch(/^hfi_[\w-]{43}$/);
    expect((await ask(session, 'GET', '/api/v1/tokens')).body).not.toContain(made.token);
    expect((await ask(made.token, 'GET', '/api/v1/clients')).statusCode).toBe(200);
    const beyond = await ask(session, 'POST', '/api/v1/tokens', { ...input, scopes: ['report.read'] });
    expect(beyond.json()).toMatchObject({ status: 422, code: 'TOKEN.SCOPES' });
    later(8 * 24 * HOUR_MS);
    expect((await ask(made.token, 'GET', '/api/v1/clients')).statusCode).toBe(401);

    const again = (await start(mail('stylist'), PASSWORD)).json() as { token: string };
    const next = (await ask(again.token, 'POST', '/api/v1/tokens', input)).json() as {
      token: string;
      id: string;
    };
    expect((await ask(again.token, 'DELETE', `/api/v1/tokens/${next.id}`)).statusCode).toBe(204);
    expect((await ask(next.token, 'GET', '/api/v1/clients')).statusCode).toBe(401);
  });
});
