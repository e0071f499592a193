import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { Account } from '../../src/identity/index.js';
import { PASSWORD, startTestApp, type TestApp } from '../factories/app.js';
import { Jar } from '../factories/security.js';

// The whole product starts, and hashing is slow on purpose: a busy machine takes its time.
jest.setTimeout(120_000);

const HOUR_MS = 3_600_000;
const mail = (role: string) => `${role}@wren-tallow.example.org`;

describe('at a shared desk', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
  });
  afterAll(() => test.close());

  const enter = async (jar: Jar, role: string, extra: Record<string, string> = {}) =>
    await jar.post('/sign-in', { email: mail(role), password: PASSWORD, next: '/today', ...extra });
  const later = (ms: number) => {
    test.clock.at += ms;
  };

  const desk = async (): Promise<Jar> => {
    const jar = new Jar(test.app);
    await enter(jar, 'owner');
    expect((await jar.post('/account/pin', { presentPassword: PASSWORD, pin: '4071' })).statusCode).toBe(303);
    expect((await jar.post('/account/desk')).headers.location).toBe('/sign-in');
    return jar;
  };
  const ownerId = async () => (await test.reader.manager.findOneByOrFail(Account, { role: 'owner' })).id;

  it('refuses PINs that anybody would try', async () => {
    later(48 * HOUR_MS);
    const jar = new Jar(test.app);
    await enter(jar, 'owner');
    for (const pin of ['1111', '1234', '9876', '12', 'abcd', '123456789']) {
      expect((await jar.post('/account/pin', { presentPassword: PASSWORD, pin })).statusCode).toBe(422);
    }
  });

  it('switches by PIN for half an hour, never to the owner’s pages or anybody’s account', async () => {
    const jar = await desk();
    expect((await jar.ask('GET', '/today')).statusCode).toBe(303);
    const page = (await jar.ask('GET', '/sign-in')).body;
    expect(page).toContain('At this desk');
    const accountId = await ownerId();
    expect((await jar.post('/switch', { accountId, pin: '4072' })).statusCode).toBe(422);
    expect((await jar.post('/switch', { accountId, pin: '4071' })).headers.location).toBe('/today');
    expect((await jar.ask('GET', '/today')).statusCode).toBe(200);
    for (const path of ['/audit', '/privacy', '/people', '/account', '/messages']) {
      expect([path, (await jar.ask('GET', path)).statusCode]).toEqual([path, 403]);
    }
    later(31 * 60_000);
    expect((await jar.ask('GET', '/today')).statusCode).toBe(303);
    expect((await jar.post('/switch', { accountId, pin: '4071' })).statusCode).toBe(303);
  });

  it('ends the desk, and who switched there, after five wrong PINs or when it is ended', async () => {
    const jar = await desk();
    const accountId = await ownerId();
    await jar.post('/switch', { accountId, pin: '4071' });
    expect((await jar.ask('GET', '/today')).statusCode).toBe(200);
    for (let i = 0; i < 5; i += 1) await jar.post('/switch', { accountId, pin: '0007' });
    expect((await jar.ask('GET', '/today')).statusCode).toBe(303);
    const right = await jar.post('/switch', { accountId, pin: '4071' });
    expect(right.statusCode).toBe(422);
    expect(right.body).toContain('no shared desk');

    const other = await desk();
    await other.post('/switch', { accountId, pin: '4071' });
    await other.post('/desk/end');
    expect((await other.ask('GET', '/today')).statusCode).toBe(303);
  });

  it('gives twenty wrong PINs at once no more tries than five', async () => {
    const jar = await desk();
    const accountId = await ownerId();
    const csrf = await jar.csrf();
    const tries = Array.from({ length: 20 }, (_, i) =>
      jar.ask('POST', '/switch', { _csrf: csrf, accountId, pin: i === 19 ? '4071' : `00${10 + i}` }),
    );
    const answers = await Promise.all(tries);
    expect(answers.every(({ statusCode }) => statusCode === 422)).toBe(true);
  });

  it('is of no use without a desk', async () => {
    const jar = new Jar(test.app);
    const answer = await jar.post('/switch', { accountId: await ownerId(), pin: '4071' });
    expect(answer.body).toContain('no shared desk');
  });
});
