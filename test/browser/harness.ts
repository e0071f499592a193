import { execFile } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core';
import { type Planted, plantDemo } from '../../seed/index.js';
import { AppModule } from '../../src/app.module.js';
import { FixedClock } from '../../src/base/index.js';
import { createServer, projectRoot } from '../../src/http/index.js';
import type { Role } from '../../src/identity/index.js';
import { Reader, readSettings, UnitOfWork } from '../../src/store/index.js';

/** A Thursday morning in London, before the first of the demo's told stories sits down. */
export const MORNING = '2026-05-14T09:20:00Z';

export const SIZES = {
  phone: { width: 390, height: 844 },
  tablet: { width: 820, height: 1180 },
  desktop: { width: 1360, height: 850 },
} as const;

export type Visitor = {
  readonly role?: Role;
  /** Of several stylists the one with this staff row; else the first who works today. */
  readonly email?: string;
  readonly script?: boolean;
  readonly scheme?: 'light' | 'dark';
  readonly size?: keyof typeof SIZES;
};

export type BrowserApp = {
  readonly app: NestFastifyApplication;
  readonly base: string;
  readonly clock: FixedClock;
  readonly reader: Reader;
  readonly planted: Planted;
  /** A page of a browser of its own, signed in when a role is given. */
  visit(visitor?: Visitor): Promise<Page>;
  close(): Promise<void>;
};

/** The whole product with the demo's data on a database of its own, listening on a free port, and a browser. */
export async function startBrowserApp(nowIso = MORNING): Promise<BrowserApp> {
  await promisify(execFile)(process.execPath, [join(projectRoot(), '.config/browser.mjs')]);
  const folder = await mkdtemp(join(tmpdir(), 'halfinch-browser-'));
  const settings = readSettings({
    HALFINCH_DATA: folder,
    PORT: '0',
    LOG_LEVEL: 'silent',
    DISPATCH_EVERY_MS: '3600000',
  });
  const clock = new FixedClock(Date.parse(nowIso));
  const app = await createServer(AppModule.with(settings, clock), settings);
  const planted = await plantDemo({ units: app.get(UnitOfWork, { strict: false }), now: clock.now() });
  await app.listen(0, '127.0.0.1');
  const base = await app.getUrl();
  const browser: Browser = await chromium.launch({
    executablePath: process.env['CHROMIUM'] ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking'],
  });
  const contexts: BrowserContext[] = [];
  return {
    app,
    base,
    clock,
    reader: app.get(Reader, { strict: false }),
    planted,
    visit: async ({ role, email, script = true, scheme = 'light', size = 'tablet' }: Visitor = {}) => {
      const context = await browser.newContext({
        baseURL: base,
        javaScriptEnabled: script,
        colorScheme: scheme,
        viewport: SIZES[size],
        locale: 'en-GB',
        timezoneId: 'Europe/London',
      });
      context.setDefaultTimeout(15_000);
      contexts.push(context);
      const page = await context.newPage();
      if (role) await signIn(page, planted, role, email);
      return page;
    },
    close: async () => {
      for (const context of contexts) await context.close();
      await browser.close();
      await app.close();
      await rm(folder, { recursive: true });
    },
  };
}

export async function signIn(page: Page, planted: Planted, role: Role, email?: string): Promise<void> {
  const person = planted.signIns.find((one) => (email ? one.email === email : one.role === role));
  if (!person) throw new Error(`The demo has no ${email ?? role}.`);
  await page.goto('/sign-in');
  await page.getByLabel('E-mail address').fill(person.email);
  await page.getByLabel('Password').fill(person.password);
  await page.getByRole('button', { name: 'Sign in' }).click();
  await page.getByRole('heading', { level: 1, name: 'Today' }).waitFor();
}

/** One of the demo's told clients; every one has an appointment today. */
export function storyOf(planted: Planted, key: Planted['stories'][number]['key']) {
  const story = planted.stories.find((one) => one.key === key);
  if (!story) throw new Error(`The demo has no story ${key}.`);
  return story;
}
