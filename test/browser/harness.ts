import { type ChildProcess, fork } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { BrowserContext, Page } from 'playwright-core';
import type { Planted } from '../../seed/index.js';
import type { Role } from '../../src/identity/index.js';
import { compiledProduct } from './compiled.js';
import type { GuestLinks } from './guest-links.js';
import { launchBrowser } from './launch.js';

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
  readonly base: string;
  readonly planted: Planted;
  /** Paths of private links, one of each kind. */
  readonly guestLinks: GuestLinks;
  /** Sets the product's clock. */
  standAt(iso: string): Promise<void>;
  /** A page of a browser of its own, signed in when a role is given. */
  visit(visitor?: Visitor): Promise<Page>;
  close(): Promise<void>;
};

type Ready = Pick<BrowserApp, 'base' | 'planted' | 'guestLinks'>;

async function startProduct(nowIso: string, dataDir: string): Promise<{ child: ChildProcess; ready: Ready }> {
  const product = await compiledProduct();
  const child = fork(join(product, 'test/browser/serve.js'), {
    execArgv: ['--enable-source-maps'],
    env: {
      PATH: process.env['PATH'],
      HALFINCH_DATA: dataDir,
      // One key for all, so that one may start from what another planted.
      HALFINCH_KEY: Buffer.alloc(32, 'halfinch').toString('base64'),
      MODEL: join(process.env['HALFINCH_TEST_RUN'] ?? '', 'demo'),
      LOG_LEVEL: 'silent',
      DISPATCH_EVERY_MS: '3600000',
      NOW_MS: String(Date.parse(nowIso)),
    },
  });
  const [ready] = (await Promise.race([
    once(child, 'message'),
    once(child, 'exit').then(([code]) => {
      throw new Error(`The product ended with ${code} before it listened.`);
    }),
  ])) as [Ready];
  return { child, ready };
}

/** The whole product with the demo's data on a database of its own, listening on a free port, and a browser. */
export async function startBrowserApp(nowIso = MORNING): Promise<BrowserApp> {
  const folder = await mkdtemp(join(tmpdir(), 'halfinch-browser-'));
  const { child, ready } = await startProduct(nowIso, folder);
  const { base, planted, guestLinks } = ready;
  const browser = await launchBrowser();
  const contexts: BrowserContext[] = [];
  const sessions = new Map<string, Awaited<ReturnType<BrowserContext['cookies']>>>();
  return {
    base,
    planted,
    guestLinks,
    standAt: async (iso) => {
      const set = once(child, 'message');
      child.send({ at: Date.parse(iso) });
      await set;
    },
    visit: async ({ role, email, script = true, scheme = 'light', size = 'tablet' }: Visitor = {}) => {
      const context = await browser.newContext({
        baseURL: base,
        javaScriptEnabled: script,
        colorScheme: scheme,
        viewport: SIZES[size],
        locale: 'en-GB',
        timezoneId: 'Europe/London',
      });
      context.setDefaultTimeout(30_000);
      contexts.push(context);
      const page = await context.newPage();
      if (!role) return page;
      // Whoever signed in before comes with that session: signing in is slow by design, and has specs of its own.
      const who = email ?? role;
      await context.addCookies(sessions.get(who) ?? []);
      await page.goto('/');
      if (!(await isToday(page))) await signIn(page, planted, role, email);
      sessions.set(who, await context.cookies());
      return page;
    },
    close: async () => {
      for (const context of contexts) await context.close();
      await browser.close();
      const gone = once(child, 'exit');
      child.disconnect();
      await gone;
      await rm(folder, { recursive: true });
    },
  };
}

const isToday = async (page: Page) =>
  (await page.getByRole('heading', { level: 1, name: 'Today' }).count()) === 1;

async function signIn(page: Page, planted: Planted, role: Role, email?: string): Promise<void> {
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
