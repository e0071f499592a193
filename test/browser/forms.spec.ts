import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { Page } from 'playwright-core';
import { type BrowserApp, startBrowserApp, storyOf } from './harness.js';
import { todaysAppointment } from './pages.js';

async function addClient(page: Page, values: Record<string, string>): Promise<void> {
  await page.goto('/clients/new');
  for (const [label, value] of Object.entries(values))
    await page.getByLabel(label, { exact: true }).fill(value);
  await page.getByRole('button', { name: 'Save' }).click();
}

describe('forms, without JavaScript', () => {
  let app: BrowserApp;
  let desk: Page;

  beforeAll(async () => {
    app = await startBrowserApp();
    desk = await app.visit({ role: 'desk', script: false });
  }, 180_000);

  afterAll(async () => {
    await app.close();
  });

  it('a client with a wrong phone and mail is not added, nothing typed is lost, each field says why', async () => {
    await addClient(desk, {
      'Given name': 'Oriel',
      'Family name': 'Tamworth-Quill',
      Phone: '12',
      'Mail address': 'oriel at example',
      Notes: 'Comes by bicycle.',
    });
    expect(await desk.getByLabel('Given name').inputValue()).toBe('Oriel');
    expect(await desk.getByLabel('Mail address').inputValue()).toBe('oriel at example');
    expect(await desk.getByLabel('Notes').inputValue()).toBe('Comes by bicycle.');
    expect(await desk.locator('.field', { hasText: 'Mail address' }).locator('.wrong').innerText()).toContain(
      'name@example.org',
    );
    expect(await desk.getByRole('alert').innerText()).toContain('Please check');
    await desk.goto('/clients?q=Tamworth-Quill');
    expect(await desk.getByText('Nobody found').count()).toBe(1);
  });

  it('a client’s words are shown as words, whatever they look like', async () => {
    await addClient(desk, {
      'Given name': '<b>Bo</b>',
      'Family name': '"Quill"',
      Notes: '<script>alert(1)</script>',
    });
    expect(await desk.getByRole('heading', { level: 1 }).innerText()).toBe('<b>Bo</b> "Quill"');
    expect(await desk.getByText('<script>alert(1)</script>').count()).toBe(1);
    expect(await desk.getByRole('status').innerText()).toBe('<b>Bo</b> "Quill" is added.');
  });

  it('a notice is said once, and never from somebody else’s words', async () => {
    await desk.reload();
    expect(await desk.getByRole('status').count()).toBe(0);
    const forged = Buffer.from('Call 0800 to win').toString('base64url');
    await desk.context().addCookies([{ name: 'halfinch-notice', value: forged, url: app.base }]);
    await desk.goto('/clients');
    expect(await desk.getByText('to win').count()).toBe(0);
  });

  it('an editor who comes second is told, and keeps what was typed', async () => {
    const { clientId } = storyOf(app.planted, 'growing-out');
    const rival = await app.visit({ role: 'owner', script: false });
    await desk.goto(`/clients/${clientId}/edit`);
    await rival.goto(`/clients/${clientId}/edit`);
    await rival.getByLabel('Notes', { exact: true }).fill('Written first.');
    await rival.getByRole('button', { name: 'Save' }).click();
    await desk.getByLabel('Notes', { exact: true }).fill('Written second.');
    await desk.getByRole('button', { name: 'Save' }).click();
    expect(await desk.getByRole('alert').innerText()).toContain('changed this client while you had it open');
    expect(await desk.getByLabel('Notes', { exact: true }).inputValue()).toBe('Written second.');
    await desk.goto(`/clients/${clientId}`);
    expect(await desk.getByText('Written first.').count()).toBe(1);
  });

  it.each(['-3', '2001 mm', 'NaN', '1e3', 'nine'])(
    'a visit with a length of %s is not closed',
    async (length) => {
      const id = await todaysAppointment(app, 'long-backed-crop');
      const stylist = await app.visit({ role: 'stylist', script: false });
      await stylist.goto(`/appointments/${id}/complete`);
      const zone = stylist.getByRole('group', { name: 'Nape', exact: true });
      await zone.getByLabel('Left at').fill(length);
      await stylist.getByLabel('Price, GBP').fill('61.50');
      await stylist.getByRole('button', { name: 'Complete the visit' }).click();
      expect(await zone.locator('.wrong').innerText()).toMatch(/^Nape, left at: /);
      expect(await zone.getByLabel('Left at').inputValue()).toBe(length);
      expect(await stylist.getByLabel('Price, GBP').inputValue()).toBe('61.50');
      await desk.goto(`/appointments/${id}`);
      expect(await desk.locator('.state').first().innerText()).toBe('booked');
      await stylist.context().close();
    },
  );

  it('a visit is completed once: the second press is told and changes nothing', async () => {
    const id = await todaysAppointment(app, 'growing-out');
    const stylist = await app.visit({ role: 'stylist', script: false });
    const second = await app.visit({ role: 'stylist', script: false });
    for (const page of [stylist, second]) await page.goto(`/appointments/${id}/complete`);
    await stylist.getByRole('button', { name: 'Complete the visit' }).click();
    await stylist.getByRole('heading', { name: /^Next visit of/ }).waitFor();
    await second.getByRole('button', { name: 'Complete the visit' }).click();
    expect(await second.getByRole('alert').innerText()).toContain('it is done');
  });

  it('two desks press one free time: the second is told and shown others', async () => {
    const { clientId } = storyOf(app.planted, 'stacked-bob');
    const other = storyOf(app.planted, 'long-backed-crop').clientId;
    const rival = await app.visit({ role: 'desk', script: false });
    await desk.goto(`/book?clientId=${clientId}&date=2026-05-18`);
    await rival.goto(`/book?clientId=${other}&date=2026-05-18`);
    const time = desk.locator('.times button').first();
    const [startsAt, label] = [await time.getAttribute('value'), await time.innerText()];
    const row = (page: Page) => page.locator('.times-row').first().locator(`button[value="${startsAt}"]`);
    await row(desk).click();
    expect(await desk.getByRole('status').innerText()).toContain(label.split(/\s/)[0]);
    await row(rival).click();
    expect(await rival.getByRole('alert').count()).toBe(1);
    expect(await rival.locator('.slots > li').count()).toBeGreaterThan(0);
    expect(await row(rival).count()).toBe(0);
  });

  it('colour without a valid skin test is refused with the reason and the cautions', async () => {
    const { clientId } = storyOf(app.planted, 'lapsed-skin-test');
    await desk.goto(`/book?clientId=${clientId}&date=2026-05-18`);
    const colour = await desk
      .getByLabel('Service')
      .first()
      .locator('option', { hasText: /colour/i })
      .first()
      .getAttribute('value');
    await desk.goto(`/book?clientId=${clientId}&date=2026-05-18&serviceId=${colour}`);
    await desk.locator('.slots button').first().click();
    expect(await desk.getByRole('alert').innerText()).toMatch(/skin test/i);
    expect(
      await desk.getByText('The maker’s instructions').or(desk.getByText("The maker's instructions")).count(),
    ).toBeGreaterThan(0);
  });
});

describe('who sees what', () => {
  let app: BrowserApp;

  beforeAll(async () => {
    app = await startBrowserApp();
  }, 180_000);

  afterAll(async () => {
    await app.close();
  });

  it('the desk sees the window, never the formula nor the health notes', async () => {
    const desk = await app.visit({ role: 'desk' });
    await desk.goto(`/clients/${storyOf(app.planted, 'stacked-bob').clientId}`);
    const html = await desk.content();
    expect(html).toContain('Rebooking window');
    expect(html).not.toContain('Take off');
    expect(html).not.toContain('On arrival');
    expect(html).not.toContain('nickel');
  });

  it('a stylist is kept from the desk’s messages', async () => {
    const stylist = await app.visit({ role: 'stylist' });
    expect((await stylist.goto('/messages'))?.status()).toBe(403);
    expect(await stylist.getByRole('heading', { level: 1 }).innerText()).toBe('Not allowed');
  });

  it('a stranger is sent to sign in, and then to the page that was asked for', async () => {
    const page = await app.visit();
    await page.goto('/due');
    expect(new URL(page.url()).pathname).toBe('/sign-in');
    const person = app.planted.signIns.find(({ role }) => role === 'desk');
    await page.getByLabel('E-mail address').fill(person?.email ?? '');
    await page.getByLabel('Password').fill('not the one');
    await page.getByRole('button', { name: 'Sign in' }).click();
    expect(await page.getByRole('alert').innerText()).toContain('do not go together');
    await page.getByLabel('Password').fill(person?.password ?? '');
    await page.getByRole('button', { name: 'Sign in' }).click();
    expect(new URL(page.url()).pathname).toBe('/due');
  });
});
