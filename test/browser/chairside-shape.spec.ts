import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { Page } from 'playwright-core';
import { type BrowserApp, startBrowserApp, storyOf } from './harness.js';

const shown = (page: Page): Promise<string> => page.locator('figure[data-view="right"] svg').innerHTML();

describe('the drawn shape, the plan and the reshape', () => {
  let app: BrowserApp;
  let bob: string;

  beforeAll(async () => {
    app = await startBrowserApp();
    bob = storyOf(app.planted, 'stacked-bob').clientId;
  }, 240_000);

  afterAll(async () => {
    await app.close();
  });

  it('without script, links and a date draw the shape of any day, in words too', async () => {
    const page = await app.visit({ role: 'stylist', script: false });
    await page.goto(`/clients/${bob}`);
    expect(await page.locator('#shape svg').count()).toBe(4);
    expect(await page.locator('figure[data-view="right"] title').textContent()).toContain('today');
    const today = await shown(page);
    await page.getByRole('link', { name: 'In 5 weeks' }).click();
    expect(await page.locator('[data-shown]').innerText()).toMatch(/^On Thu 18 Jun; the broken line/);
    const later = await shown(page);
    expect(later).not.toBe(today);
    await page.getByRole('link', { name: /^As cut/ }).click();
    expect(await page.locator('[data-shown]').innerText()).toMatch(
      /^As cut on .*; the broken line is the shape today/,
    );
    await page.getByLabel('Any day').fill('2026-06-18');
    await page.getByRole('button', { name: 'Show', exact: true }).click();
    expect(await shown(page)).toBe(later);
    await page.context().close();
  });

  it('with script, the slider moves the figures in place to what the link of that day draws', async () => {
    const page = await app.visit({ role: 'stylist' });
    await page.goto(`/clients/${bob}?on=2026-06-18`);
    const later = await shown(page);
    await page.goto(`/clients/${bob}`);
    const slide = page.getByLabel('Day by day');
    const days =
      (Date.parse('2026-06-18') - Date.parse((await slide.getAttribute('data-from')) ?? '')) / 86_400_000;
    await slide.fill(String(days));
    await page.locator('[data-shown]', { hasText: 'On Thu 18 Jun' }).waitFor();
    expect(await shown(page)).toBe(later);
    await page.context().close();
  });

  it('every figure says why, with its source and where the knowledge ends', async () => {
    const page = await app.visit({ role: 'stylist' });
    await page.goto(`/clients/${bob}`);
    await page.getByText('Why this much? Nape').click();
    const nape = await page.locator('.formula tbody tr').first().locator('.reasons').innerText();
    for (const part of ['left at', 'mm a day', 'Computed:', 'Sources:', 'Where this knowledge ends:']) {
      expect(nape).toContain(part);
    }
    await page.getByText('Why these dates?').click();
    const dates = page.locator('section', { has: page.getByRole('heading', { name: 'Rebooking window' }) });
    expect(await dates.locator('.reasons').innerText()).toContain('first to go');
    await page.context().close();
  });

  it('the plan books each visit with its day and service filled in; the desk sees no lengths', async () => {
    const page = await app.visit({ role: 'stylist', script: false });
    await page.goto(`/clients/${bob}/plan`);
    expect(await page.locator('main').innerText()).toMatch(/visits? instead of \d+ in 26 weeks/);
    const visit = page.locator('.list > li').nth(1);
    const day = await visit.locator('strong').innerText();
    await visit.getByRole('link', { name: /^Book/ }).first().click();
    const date = await page.locator('input[name="date"]').first().inputValue();
    const spoken = new Intl.DateTimeFormat('en-GB', { weekday: 'short', day: 'numeric', month: 'short' });
    expect(spoken.format(new Date(`${date}T12:00:00Z`)).replace(',', '')).toBe(day);
    expect(await page.getByLabel('Service').first().inputValue()).not.toBe('');
    await page.goto(`/clients/${bob}/plan`);
    await page.getByLabel('Plan for the lowest').selectOption({ label: 'time in the chair' });
    await page.getByRole('button', { name: 'Plan again' }).click();
    expect(new URL(page.url()).searchParams.get('wish')).toBe('minutes');
    const desk = await app.visit({ role: 'desk' });
    await desk.goto(`/clients/${bob}/plan`);
    expect(await desk.locator('.list > li').count()).toBeGreaterThan(0);
    expect(await desk.locator('main').innerText()).not.toMatch(/\d cm|uncut/);
    for (const one of [page, desk]) await one.context().close();
  });

  it('a reshape says what comes off today, what lacks, both dates, and draws its first and last stages', async () => {
    const page = await app.visit({ role: 'stylist', script: false });
    await page.goto(`/clients/${bob}/reshape`);
    await page.getByLabel('Wanted shape').selectOption({ label: 'House formula: One length' });
    await page.getByRole('button', { name: 'Show the steps' }).click();
    const words = await page.locator('.big').innerText();
    expect(words).toMatch(/^From about .*, almost surely by .*: the \w+( \w+)? lacks .* cm\.$/);
    expect(await page.locator('tbody tr').count()).toBe(7);
    const stages = page.locator('.stages > li');
    expect(await stages.first().locator('svg').count()).toBe(1);
    expect(await stages.last().locator('svg').count()).toBe(1);
    expect(await stages.last().innerText()).toContain('There');
    await page.context().close();
  });

  it('refuses the drawings and the reshape to the desk', async () => {
    const desk = await app.visit({ role: 'desk' });
    for (const path of ['shape', 'reshape']) {
      expect((await desk.goto(`/clients/${bob}/${path}`))?.status()).toBe(403);
    }
    await desk.context().close();
  });
});
