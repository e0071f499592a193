import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { Locator, Page } from 'playwright-core';
import { type BrowserApp, startBrowserApp, storyOf } from './harness.js';
import { todaysAppointment } from './pages.js';

/** How the focus shows: style and width of the outline of what has it. */
const FOCUS = `(({ outlineStyle, outlineWidth }) => outlineStyle + ' ' + outlineWidth)(getComputedStyle(document.activeElement))`;
/** What a person can press, in words; on a narrow day the handles for dragging give way to the form "Move". */
const PRESSABLE = `[...document.querySelectorAll('main a, main button, main summary')]
  .filter((one) => one.checkVisibility())
  .map((one) => one.textContent.trim().replace(/\\s+/g, ' '))
  .filter((words) => words !== '' && words !== 'Moving with mouse, finger or keys')`;

async function reach(page: Page, target: Locator): Promise<void> {
  for (let presses = 0; presses < 300; presses += 1) {
    if (await target.evaluate((node) => node === node.ownerDocument.activeElement)) {
      // WCAG 2.2, success criterion 2.4.13: at least as thick as 2 px.
      expect(await page.evaluate(FOCUS)).toMatch(/^solid ([2-9]|\d\d)px$/);
      return;
    }
    await page.keyboard.press('Tab');
  }
  throw new Error('The keyboard does not get there.');
}

/** Presses Enter and waits for the page that follows. */
async function enter(page: Page, heading: string | RegExp): Promise<void> {
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { level: 1, name: heading, exact: true }).waitFor();
}

describe('the hard ways', () => {
  let app: BrowserApp;

  beforeAll(async () => {
    app = await startBrowserApp();
  }, 180_000);

  afterAll(async () => {
    await app.close();
  });

  it('the main job by keyboard alone, from signing in to the next visit, the focus seen at each step', async () => {
    const { name } = storyOf(app.planted, 'stacked-bob');
    const owner = app.planted.signIns.find(({ role }) => role === 'owner');
    const page = await app.visit();
    await page.goto('/sign-in');
    await reach(page, page.getByLabel('E-mail address'));
    await page.keyboard.type(owner?.email ?? '');
    await reach(page, page.getByLabel('Password'));
    await page.keyboard.type(owner?.password ?? '');
    await enter(page, 'Today');
    await reach(page, page.getByRole('link', { name: 'Clients', exact: true }));
    await enter(page, 'Clients');
    await reach(page, page.getByPlaceholder('Name or phone number'));
    await page.keyboard.type(name);
    const found = page.getByRole('link', { name, exact: true });
    await found.waitFor();
    await reach(page, found);
    await enter(page, name);
    await reach(page, page.getByRole('link', { name: 'Complete visit' }));
    await enter(page, 'Complete the visit');
    await reach(page, page.getByRole('button', { name: 'Complete the visit' }));
    await enter(page, `Next visit of ${name}`);
    await reach(page, page.locator('.slots > li').first().getByRole('button'));
    await page.keyboard.press('Enter');
    await page.getByText(`${name} is booked for`).waitFor();
    await page.context().close();
  }, 120_000);

  it('at 200 % and 400 % nothing that can be pressed is lost', async () => {
    const { clientId } = storyOf(app.planted, 'long-backed-crop');
    const page = await app.visit({ role: 'stylist', size: 'desktop' });
    for (const path of ['/today', '/clients?q=ash', `/clients/${clientId}`, `/clients/${clientId}/rebook`]) {
      await page.setViewportSize({ width: 1280, height: 1024 });
      await page.goto(path);
      const whole = await page.evaluate<string[]>(PRESSABLE);
      expect(whole.length).toBeGreaterThan(1);
      // WCAG 2.2: 1280 px enlarged twice (success criterion 1.4.4) and four times (1.4.10).
      for (const viewport of [
        { width: 640, height: 512 },
        { width: 320, height: 256 },
      ]) {
        await page.setViewportSize(viewport);
        const left = await page.evaluate<string[]>(PRESSABLE);
        expect(whole.filter((words) => !left.includes(words))).toEqual([]);
      }
    }
    await page.context().close();
  });

  it('on a slow line the page is of use before its scripts are there', async () => {
    const { name } = storyOf(app.planted, 'long-backed-crop');
    const page = await app.visit({ role: 'desk' });
    const held: (() => Promise<void>)[] = [];
    await page.route('**/assets/*.js', (route) => {
      held.push(() => route.continue());
    });
    await page.goto('/today', { waitUntil: 'commit' });
    await page.getByRole('link', { name: 'Clients', exact: true }).click({ noWaitAfter: true });
    await page.getByPlaceholder('Name or phone number').fill(name);
    await page.getByRole('button', { name: 'Search' }).click({ noWaitAfter: true });
    await page.getByRole('link', { name, exact: true }).waitFor();
    expect(held.length).toBeGreaterThan(0);
    await page.unrouteAll({ behavior: 'ignoreErrors' });
    await page.context().close();
  });

  it('what was typed before the scripts came is searched for once they are there', async () => {
    const { name } = storyOf(app.planted, 'long-backed-crop');
    const page = await app.visit({ role: 'desk' });
    const held: (() => Promise<void>)[] = [];
    let isSlow = true;
    await page.route('**/assets/*.js', async (route) => {
      if (isSlow) held.push(() => route.continue());
      else await route.continue();
    });
    await page.goto('/clients', { waitUntil: 'commit' });
    const box = page.getByPlaceholder('Name or phone number');
    await box.fill(name);
    await page.waitForFunction(
      () =>
        (globalThis as unknown as { document: { readyState: string } }).document.readyState === 'interactive',
    );
    await page.waitForTimeout(500);
    expect(await page.getByRole('link', { name, exact: true }).count()).toBe(0);
    isSlow = false;
    for (const letGo of held) await letGo();
    await page.getByRole('link', { name, exact: true }).waitFor();
    expect(await box.inputValue()).toBe(name);
    await page.context().close();
  });

  it.each([true, false])(
    'pressed twice on a slow line, one appointment is booked; script: %s',
    async (script) => {
      const { clientId, name } = storyOf(app.planted, script ? 'long-backed-crop' : 'growing-out');
      const page = await app.visit({ role: 'desk', script });
      await page.goto(`/book?clientId=${clientId}&date=2026-06-02`);
      const line = await page.context().newCDPSession(page);
      await line.send('Network.emulateNetworkConditions', {
        offline: false,
        latency: 400,
        downloadThroughput: 50_000,
        uploadThroughput: 20_000,
      });
      const time = page.locator('.times button').first();
      const startsAt = await time.getAttribute('value');
      await time.dblclick({ noWaitAfter: true });
      await page.getByText(`${name} is booked for`).waitFor();
      await page.goto(`/today?date=${new Date(Number(startsAt)).toISOString().slice(0, 10)}`);
      expect(await page.locator('.entry').filter({ hasText: name }).count()).toBe(1);
      await page.context().close();
    },
    60_000,
  );

  it('without a connection nothing typed is lost, and the page says so', async () => {
    const page = await app.visit({ role: 'desk' });
    await page.goto('/clients/new');
    await page.getByLabel('Given name').fill('Oriel');
    await page.context().setOffline(true);
    await page.getByText('No connection').waitFor();
    await page.getByRole('button', { name: 'Save' }).click();
    expect(await page.getByLabel('Given name').inputValue()).toBe('Oriel');
    await page.context().setOffline(false);
    await page.getByText('No connection').waitFor({ state: 'detached' });
    await page.getByLabel('Family name').fill('Tamworth');
    await page.getByRole('button', { name: 'Save' }).click();
    await page.getByText('Oriel Tamworth is added.').waitFor();
    await page.context().close();
  });

  it('a page that is not there, and a form whose token is not, say what to do next', async () => {
    const page = await app.visit({ role: 'stylist', script: false });
    expect((await page.goto('/nowhere'))?.status()).toBe(404);
    expect(await page.getByRole('link', { name: 'Back to the start' }).count()).toBe(1);
    await page.goto(`/appointments/${await todaysAppointment(app, 'lapsed-skin-test')}`);
    await page.context().clearCookies({ name: '_csrf' });
    await page.getByRole('button', { name: 'Arrived' }).click();
    expect(await page.getByRole('heading', { level: 1 }).innerText()).not.toBe('');
    expect(await page.locator('main').innerText()).toMatch(/again|back/i);
    await page.context().close();
  });
});
