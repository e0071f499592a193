import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { Locator, Page } from 'playwright-core';
import { type BrowserApp, startBrowserApp, storyOf } from './harness.js';

describe('the desk’s day', () => {
  let app: BrowserApp;
  let desk: Page;

  beforeAll(async () => {
    app = await startBrowserApp();
    desk = await app.visit({ role: 'desk' });
  }, 180_000);

  afterAll(async () => {
    await app.close();
  });

  const entryOf = (key: Parameters<typeof storyOf>[1]): Locator =>
    desk.locator('.entry').filter({ hasText: storyOf(app.planted, key).name });
  const stateOf = (entry: Locator) => entry.locator('.state').innerText();
  /** A press is answered in place: waits for the words. */
  const becomes = (entry: Locator, words: string) =>
    entry.locator('.state').getByText(words, { exact: true }).waitFor();

  it('marks an arrival with one press, and takes it back', async () => {
    await desk.goto('/today');
    const entry = entryOf('long-backed-crop');
    await entry.getByRole('button', { name: 'Arrived' }).click();
    await becomes(entry, 'arrived');
    await entry.getByText('More').click();
    await entry.getByRole('button', { name: 'Not arrived' }).click();
    await becomes(entry, 'booked');
    await desk.reload();
    expect(await stateOf(entry)).toBe('booked');
  });

  it('offers no-show only when the time has come, and lets the client come after all', async () => {
    await desk.goto('/today');
    const entry = entryOf('stacked-bob');
    await entry.getByText('More').click();
    expect(await entry.getByRole('button', { name: 'No-show' }).count()).toBe(0);
    await app.standAt('2026-05-14T10:12:00Z');
    await desk.goto('/today');
    expect(await stateOf(entry)).toBe('12 min late');
    await entry.getByText('More').click();
    await entry.getByRole('button', { name: 'No-show' }).click();
    await becomes(entry, 'no-show');
    await entry.getByRole('button', { name: 'Came after all' }).click();
    await becomes(entry, 'arrived');
    await desk.reload();
    expect(await stateOf(entry)).toBe('arrived');
  });

  it('moves an appointment to a free time, which tells the client', async () => {
    await desk.goto('/today');
    const entry = entryOf('growing-out');
    await entry.getByText('More').click();
    await entry.getByRole('link', { name: 'Move' }).click();
    await desk.getByLabel('From day').fill('2026-05-19');
    await desk.getByRole('button', { name: 'Show free times' }).click();
    const time = desk.locator('.times button').first();
    const [hour = ''] = (await time.innerText()).split(/\s/);
    await time.click();
    const { name } = storyOf(app.planted, 'growing-out');
    expect(await desk.getByRole('status').innerText()).toBe(`${name} is moved.`);
    expect(await desk.locator('.entry').filter({ hasText: name }).innerText()).toContain(hour);
    await desk.getByRole('link', { name, exact: true }).click();
    expect(await desk.getByText('Next appointment').innerText()).toContain(hour);
  });

  it('refuses a time of one’s own outside working hours unless it is meant', async () => {
    const { clientId } = storyOf(app.planted, 'stacked-bob');
    await desk.goto(`/book?clientId=${clientId}&date=2026-05-19`);
    await desk.getByText('A time of your own, or with a note').click();
    const own = desk.locator('details form');
    await own.getByLabel('Stylist').selectOption({ index: 1 });
    await own.getByLabel('Day').fill('2026-05-19');
    await own.getByLabel('Time').fill('22:15');
    await own.getByLabel('Note').fill('After the theatre.');
    await own.getByRole('button', { name: 'Book this time' }).click();
    expect(await desk.getByRole('alert').count()).toBe(1);
    expect(await own.getByLabel('Time').inputValue()).toBe('22:15');
    expect(await own.getByLabel('Note').inputValue()).toBe('After the theatre.');
    await own.getByLabel('Also outside working hours').check();
    await own.getByRole('button', { name: 'Book this time' }).click();
    expect(await desk.getByRole('status').innerText()).toContain('22:15');
  });

  it('cancels after asking once, and the time is free again', async () => {
    await desk.goto('/today');
    const entry = entryOf('lapsed-skin-test');
    const { name } = storyOf(app.planted, 'lapsed-skin-test');
    await entry.getByText('More').click();
    await entry.getByRole('link', { name: 'Cancel' }).click();
    await desk.getByRole('button', { name: 'Cancel the appointment' }).click();
    expect(await desk.getByRole('status').innerText()).toContain('is cancelled');
    expect(await entry.count()).toBe(0);
    expect(await desk.locator('.list > li').filter({ hasText: name }).locator('.state').innerText()).toBe(
      'cancelled',
    );
  });

  it('books the very gap that was pressed, for somebody found while typing', async () => {
    await desk.goto('/today?date=2026-05-15');
    const gap = desk.locator('.entry.free').last();
    const start = (await gap.innerText()).match(/\d\d:\d\d/)?.[0] ?? '';
    await gap.getByRole('link').click();
    await desk.getByLabel('Name or phone number').pressSequentially('saoirse lind');
    await desk.locator('#found').getByRole('link', { name: 'Saoirse Lindqvist' }).click();
    // A short service fits the gap whatever its length.
    await desk.getByLabel('Service').first().selectOption({ label: 'Fringe tidy · 15 min' });
    await desk.getByRole('button', { name: 'Show free times' }).click();
    expect(await desk.locator('.slots > li').first().innerText()).toContain(`15 May, ${start}`);
  });

  it('says why a message failed and tries it again, as long as that can help', async () => {
    await desk.goto('/messages?state=failed');
    const lines = desk.locator('.list > li');
    expect(await lines.first().innerText()).toContain('The address is not known here');
    expect(await desk.getByRole('button', { name: /^Try again/ }).count()).toBe(0);
    // Before the newest of their appointments.
    const dates = (await lines.allInnerTexts()).map((text) => /for \w+ (\d+ \w+),/.exec(text)?.[1]);
    const newest = Math.max(...dates.map((date) => Date.parse(`${date} 2026 00:00 UTC`)));
    await app.standAt(new Date(newest).toISOString());
    await desk.reload();
    await desk
      .getByRole('button', { name: /^Try again/ })
      .first()
      .click();
    expect(await desk.getByRole('status').innerText()).toBe('The message will be tried again now.');
    expect(await desk.locator('.head .state').innerText()).toBe('owed');
  });
});
