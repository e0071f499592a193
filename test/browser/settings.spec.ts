import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { Page } from 'playwright-core';
import { type BrowserApp, startBrowserApp } from './harness.js';

describe('settings, without JavaScript', () => {
  let app: BrowserApp;
  let owner: Page;
  let desk: Page;

  beforeAll(async () => {
    app = await startBrowserApp();
    owner = await app.visit({ role: 'owner', script: false });
    desk = await app.visit({ role: 'desk', script: false });
  }, 180_000);

  afterAll(async () => {
    await app.close();
  });

  const status = (page: Page) => page.getByRole('status').first().innerText();

  it('a service gets steps, and what it needs; a slip is told beside its box and nothing typed is lost', async () => {
    await owner.goto('/settings/services/new');
    await owner.getByLabel('Name').fill('Soft wave');
    await owner.getByLabel('Kind').selectOption({ label: 'other' });
    await owner.getByLabel('Price, GBP').fill('70');
    await owner.getByLabel('Skills it needs').fill('waves, colour');
    const step = (number: number) => owner.getByRole('group', { name: `Step ${number}`, exact: true });
    await step(1).getByLabel('Minutes').fill('30');
    await step(2)
      .getByLabel(/^Step 2/)
      .selectOption({ label: 'processing, stylist free' });
    await step(2).getByLabel('Minutes').fill('4');
    await step(3).getByLabel('Minutes').fill('20');
    await step(3).getByLabel('wash basin').check();
    await owner.getByRole('button', { name: 'Save' }).click();
    expect(await step(2).locator('.wrong').innerText()).toContain('at least 5 minutes');
    expect(await owner.getByLabel('Name').inputValue()).toBe('Soft wave');
    expect(await step(3).getByLabel('wash basin').isChecked()).toBe(true);
    await step(2).getByLabel('Minutes').fill('40');
    await owner.getByRole('button', { name: 'Save' }).click();
    const line = owner.locator('.list > li').filter({ hasText: 'Soft wave' });
    expect(await line.innerText()).toContain(
      'at work 30 min, processing 40 min, at work 20 min (wash basin)',
    );
    expect(await line.innerText()).toContain('90 min · £70.00');
    expect(await line.innerText()).toContain('needs waves, colour');
    await line.getByRole('link').click();
    expect(await step(2).getByLabel('Minutes').inputValue()).toBe('40');
    await owner.getByLabel('Can be booked').uncheck();
    await owner.getByRole('button', { name: 'Save' }).click();
    expect(await line.innerText()).toContain('no longer offered');
  });

  it('a chair is added, renamed and taken out of use', async () => {
    await owner.goto('/settings/resources');
    const added = owner.locator('form', { has: owner.getByRole('heading', { name: 'Add one' }) });
    await added.getByLabel('Name', { exact: true }).fill('Chair by the window');
    await owner.getByRole('button', { name: 'Add' }).click();
    expect(await status(owner)).toBe('Chair by the window is added.');
    await owner.getByText('Rename Chair by the window').click();
    await owner.locator('details[open] input[name=name]').fill('Window chair');
    await owner.getByRole('button', { name: 'Save Chair by the window' }).click();
    expect(await status(owner)).toBe('Window chair is saved.');
    await owner.getByRole('button', { name: /^Out of use ?: Window chair$/ }).click();
    expect(await owner.locator('.list > li').filter({ hasText: 'Window chair' }).innerText()).toContain(
      'out of use',
    );
  });

  it('the desk writes a week and a day off; what is booked then is named', async () => {
    await desk.goto('/settings/staff');
    expect(await desk.getByRole('link', { name: 'Add' }).count()).toBe(0);
    const line = desk.locator('.list > li').filter({ hasText: 'Maren Oakshott' });
    await line.getByRole('link', { name: 'Hours' }).click();
    await desk.getByLabel('Monday').fill('mornings');
    await desk.getByRole('button', { name: 'Save the week' }).click();
    expect(await desk.locator('.field', { hasText: 'Monday' }).locator('.wrong').innerText()).toContain(
      'such as 9–13',
    );
    expect(await desk.getByLabel('Monday').inputValue()).toBe('mornings');
    await desk.getByLabel('Monday').fill('9-13, 12-17:30');
    await desk.getByRole('button', { name: 'Save the week' }).click();
    expect(await desk.locator('.field', { hasText: 'Monday' }).locator('.wrong').innerText()).toContain(
      'overlaps',
    );
    await desk.getByLabel('Monday').fill('9-13, 14-17.30');
    await desk.getByRole('button', { name: 'Save the week' }).click();
    expect(await desk.getByLabel('Monday').inputValue()).toBe('09:00–13:00, 14:00–17:30');

    // Maren works on Thursdays; today is one.
    await desk.getByLabel('Day', { exact: true }).fill('2026-05-14');
    await desk.getByRole('button', { name: 'Save the day' }).click();
    expect(await status(desk)).toBe('Maren Oakshott is off on Thu 14 May.');
    const strays = desk.getByRole('region', { name: 'Booked outside working hours' });
    expect(await strays.getByRole('listitem').count()).toBeGreaterThan(0);
    expect(await strays.innerText()).toContain('Thu 14 May');
    await desk.getByRole('button', { name: 'As every week on Thu 14 May' }).click();
    expect(await desk.getByText('Thu 14 May off').count()).toBe(0);
  });

  it('a holiday is added and removed; a stylist reads but does not write', async () => {
    await desk.goto('/settings/closures');
    await desk.getByLabel('First day').fill('2026-06-10');
    await desk.getByLabel('Last day').fill('2026-06-09');
    await desk.getByLabel('Why').fill('Fair on the green');
    await desk.getByRole('button', { name: 'Add' }).click();
    expect(await desk.getByRole('alert').innerText()).toContain('must not be earlier');
    await desk.getByLabel('Last day').fill('');
    await desk.getByRole('button', { name: 'Add' }).click();
    const line = desk.locator('.list > li').filter({ hasText: 'Fair on the green' });
    expect(await line.innerText()).toContain('The whole salon Wed 10 Jun');
    const stylist = await app.visit({ role: 'stylist', script: false });
    await stylist.goto('/settings/closures');
    expect(await stylist.getByText('Fair on the green').count()).toBe(1);
    expect(await stylist.getByRole('button', { name: 'Add' }).count()).toBe(0);
    expect((await stylist.goto('/settings/services/new'))?.status()).toBe(403);
    await stylist.context().close();
    await line.getByRole('button', { name: /^Remove/ }).click();
    expect(await line.count()).toBe(0);
  });

  it('a stylist opens her calendar, makes its address anew and closes it', async () => {
    const stylist = await app.visit({ role: 'stylist', script: false });
    const follow = async (address: string) => {
      const answer = await fetch(address.replace(/^https?:\/\/[^/]+/, app.base));
      return { status: answer.status, text: await answer.text() };
    };
    const address = () => stylist.locator('code').innerText();
    await stylist.goto('/calendar');
    await stylist.getByRole('button', { name: 'Make an address' }).click();
    const first = await address();
    expect((await follow(first)).text).toMatch(/^BEGIN:VCALENDAR/);
    await stylist.getByRole('button', { name: 'New address' }).click();
    const second = await address();
    expect((await follow(first)).status).toBe(404);
    expect((await follow(second)).status).toBe(200);
    await stylist.getByRole('button', { name: 'Close it' }).click();
    expect(await status(stylist)).toContain('Closed');
    expect((await follow(second)).status).toBe(404);
    // Another's is not hers to open.
    await owner.goto('/settings/staff');
    const links = await owner.getByRole('link', { name: /^Calendar of/ }).all();
    const others = [];
    for (const link of links) others.push((await link.getAttribute('href')) ?? '');
    const answers = [];
    for (const other of others) answers.push((await stylist.goto(other))?.status());
    expect(answers.filter((one) => one === 200)).toHaveLength(1);
    expect(answers.filter((one) => one === 403)).toHaveLength(others.length - 1);
    await stylist.context().close();
  });
});
