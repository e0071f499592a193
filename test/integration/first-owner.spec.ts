import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { AppModule } from '../../src/app.module.js';
import { FixedClock } from '../../src/base/index.js';
import { createServer } from '../../src/http/index.js';
import { Account, FirstOwner } from '../../src/identity/index.js';
import { Salon } from '../../src/salon/index.js';
import { Reader, readSettings } from '../../src/store/index.js';
import { Jar } from '../factories/security.js';

// The whole product starts, and hashing is slow on purpose: a busy machine takes its time.
jest.setTimeout(120_000);

describe('a fresh installation', () => {
  let folder: string;
  let app: NestFastifyApplication;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'halfinch-fresh-'));
    const settings = readSettings({
      HALFINCH_DATA: folder,
      LOG_LEVEL: 'silent',
      DISPATCH_EVERY_MS: '3600000',
    });
    app = await createServer(
      AppModule.with(settings, new FixedClock(Date.parse('2026-06-01T08:00:00Z'))),
      settings,
    );
    await app.init();
    await app.getHttpAdapter().getInstance().ready();
  });
  afterAll(async () => {
    await app.close();
    await rm(folder, { recursive: true });
  });

  it('has no account, and makes its owner for whoever reads the code from the log', async () => {
    const reader = app.get(Reader, { strict: false });
    expect(await reader.manager.count(Account)).toBe(0);
    const jar = new Jar(app);
    expect((await jar.ask('GET', '/')).headers.location).toBe('/set-up');
    const { code } = app.get(FirstOwner, { strict: false });
    expect(code).toMatch(/^[A-Z2-9]{4}-[A-Z2-9]{4}-[A-Z2-9]{4}$/);
    const form = {
      code,
      name: 'Isolde Tarn',
      email: 'isolde@example.org',
      password: 'velvet ladder onion',
      'salon-name': 'Wren & Tallow',
      'salon-address': '3 Candle Row, Oxmarsh',
      'salon-email': 'chairs@wren-tallow.example.org',
      'salon-phone': '020 7946 0301',
      'salon-zone': 'Europe/London',
      'salon-units': 'cm',
      'salon-currency': 'GBP',
      'salon-locale': 'en-GB',
      'salon-phoneRegion': 'GB',
    };
    const wrongCode = await jar.post('/set-up', { ...form, code: 'AAAA-AAAA-AAAA' });
    expect(wrongCode.statusCode).toBe(422);
    const wrongZone = await jar.post('/set-up', { ...form, 'salon-zone': 'Nowhere' });
    expect(wrongZone.statusCode).toBe(422);
    expect(wrongZone.body).toContain('id="f-salon-zone-wrong"');
    expect(wrongZone.body).not.toContain('velvet ladder');
    expect(await reader.manager.count(Account)).toBe(0);
    expect(await reader.manager.count(Salon)).toBe(0);

    expect((await jar.post('/set-up', form)).headers.location).toBe('/sign-in');
    expect((await jar.post('/set-up', form)).statusCode).toBe(409);
    expect((await jar.ask('GET', '/set-up')).headers.location).toBe('/sign-in');
    const entered = await jar.post('/sign-in', {
      email: form.email,
      password: form.password,
      next: '/audit',
    });
    expect(entered.headers.location).toBe('/audit');
    expect((await jar.ask('GET', '/audit')).statusCode).toBe(200);
    expect(await reader.manager.count(Salon)).toBe(1);
  });
});
