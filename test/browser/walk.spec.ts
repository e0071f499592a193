import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { Page } from 'playwright-core';
import { type BrowserApp, startBrowserApp, storyOf } from './harness.js';

/** "4.2 cm" as a number of millimetres. */
const mm = (text: string): number => Math.round(Number.parseFloat(text.replace('−', '-')) * 10);

async function texts(page: Page, selector: string): Promise<string[]> {
  return (await page.locator(selector).allInnerTexts()).map((text) => text.trim());
}

/** What the owner's page counts for one stylist: visits, and how many of them were rebooked at checkout. */
async function rateOf(owner: Page, stylist: string): Promise<{ count: number; of: number }> {
  await owner.goto('/figures');
  const figure = owner.getByRole('region', { name: 'Rebooked at checkout' });
  const cells = await figure.getByRole('row', { name: stylist }).locator('td').allInnerTexts();
  const [count = Number.NaN, of = Number.NaN] = cells
    .slice(-2)
    .map((text) => Number(text.replaceAll(',', '')));
  return { count, of };
}

describe.each([
  { name: 'with JavaScript', script: true },
  { name: 'without JavaScript', script: false },
])('from the chair to the next appointment, $name', ({ script }) => {
  let app: BrowserApp;
  let stylist: Page;
  let desk: Page;
  let owner: Page;
  let before: { count: number; of: number };
  let stylistName: string;

  beforeAll(async () => {
    app = await startBrowserApp();
    owner = await app.visit({ role: 'owner', script });
    desk = await app.visit({ role: 'desk', script });
    await desk.goto('/today');
    // The stylist whose column holds the client.
    const column = desk
      .locator('section.column')
      .filter({ hasText: storyOf(app.planted, 'stacked-bob').name });
    stylistName = (await column.getByRole('heading').innerText()).split('\n')[0]?.trim() ?? '';
    const email = app.planted.signIns.find(({ name }) => name === stylistName)?.email;
    stylist = await app.visit({ role: 'stylist', script, ...(email && { email }) });
    before = await rateOf(owner, stylistName);
    expect(before.of).toBeGreaterThanOrEqual(before.count);
  }, 120_000);

  afterAll(async () => {
    await app.close();
  });

  it('the stylist opens the card from the day in one press, safety first', async () => {
    const { name } = storyOf(app.planted, 'stacked-bob');
    await stylist.getByRole('link', { name, exact: true }).click();
    expect(await stylist.getByRole('heading', { level: 1 }).innerText()).toBe(name);
    expect((await texts(stylist, 'main h2'))[0]).toBe('Safety');
    expect(await stylist.locator('.safety').innerText()).toContain('nickel');
  });

  it('the formula is grown to today: now lies in its range, and take off is now less wanted', async () => {
    const rows = stylist.locator('.formula tbody tr');
    expect(await rows.count()).toBe(7);
    for (const row of await rows.all()) {
      const [left = '', now = '', wanted = '', takeOff = ''] = await row
        .locator('td:not(.how)')
        .allInnerTexts();
      const [nowText = '', range = ''] = now.split('\n').filter((line) => line !== 'Now' && line !== '');
      const [low = Number.NaN, high = Number.NaN] = range.split('–').map(mm);
      expect(mm(nowText)).toBeGreaterThan(mm(left));
      expect(mm(nowText)).toBeGreaterThanOrEqual(low);
      expect(mm(nowText)).toBeLessThanOrEqual(high);
      // Each figure is rounded to a millimetre on its own.
      expect(Math.abs(mm(takeOff) - (mm(nowText) - mm(wanted)))).toBeLessThanOrEqual(1);
    }
  });

  it('she completes the visit with measurements; a slip is told beside its box and nothing typed is lost', async () => {
    await stylist.getByRole('link', { name: 'Complete visit' }).click();
    const nape = stylist.getByRole('group', { name: 'Nape', exact: true });
    await nape.getByLabel('On arrival').fill('15 ells');
    await stylist.getByLabel('Notes on the visit').fill('Left ear stands out.');
    await stylist.getByRole('button', { name: 'Complete the visit' }).click();
    expect(await nape.locator('.wrong').innerText()).toContain('such as 5.2');
    expect(await nape.getByLabel('On arrival').inputValue()).toBe('15 ells');
    expect(await stylist.getByLabel('Notes on the visit').inputValue()).toBe('Left ear stands out.');

    await nape.getByLabel('On arrival').fill('15 mm');
    await stylist.getByRole('group', { name: 'Back', exact: true }).getByLabel('On arrival').fill('5.8');
    await stylist.getByRole('button', { name: 'Complete the visit' }).click();
    const { name } = storyOf(app.planted, 'stacked-bob');
    expect(await stylist.getByRole('heading', { level: 1 }).innerText()).toBe(`Next visit of ${name}`);
    expect(await stylist.getByRole('status').innerText()).toBe(`${name}: visit complete.`);
    expect(await texts(stylist, '.window ol span')).toEqual(['Earliest', 'Due', 'Latest']);
    expect(await stylist.locator('.slots > li').count()).toBe(3);
  });

  it('the card then tells the visit, its measurements and what they taught', async () => {
    await stylist.getByRole('link', { name: 'Card' }).click();
    const newest = await stylist.locator('.timeline > li').first().innerText();
    expect(newest).toContain('14 May');
    expect(newest).toContain('Nape 1.5 cm');
    expect(newest).toContain('Back 5.8 cm');
    expect(newest).toContain('Left ear stands out.');
  });

  it('the desk finds her complete on the day and books the suggested time with one press', async () => {
    await desk.goto('/today');
    const { name } = storyOf(app.planted, 'stacked-bob');
    const entry = desk.locator('.entry').filter({ hasText: name });
    expect(await entry.locator('.state').innerText()).toBe('complete');
    await entry.getByRole('link', { name: 'Book next' }).click();
    const first = desk.locator('.slots > li').first();
    const when = (await first.locator('strong').innerText()).trim();
    await first.getByRole('button').click();
    expect(await desk.getByRole('status').innerText()).toBe(`${name} is booked for ${when}.`);
    expect(await desk.locator('.entry.booked').filter({ hasText: name }).count()).toBe(1);
  });

  it('the reminder stands as owed', async () => {
    await desk.goto('/messages?state=owed');
    const { name } = storyOf(app.planted, 'stacked-bob');
    const line = desk.locator('.list > li').filter({ hasText: `Reminder to ${name}` });
    expect(await line.count()).toBe(1);
    expect(await line.locator('.state').innerText()).toBe('owed');
    expect(await line.innerText()).toContain('goes out');
  });

  it('the owner’s rate has one visit and one rebooking more', async () => {
    expect(await rateOf(owner, stylistName)).toEqual({ count: before.count + 1, of: before.of + 1 });
  });
});
