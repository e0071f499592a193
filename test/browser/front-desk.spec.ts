import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { Page } from 'playwright-core';
import { findings } from './axe.js';
import { type BrowserApp, startBrowserApp, storyOf } from './harness.js';

const TOMORROW = '2026-05-15';

type Booked = { readonly id: string; readonly staffId: string; readonly startsAt: number };

/** Counts what a hand presses, page after page: clicks and the return key. */
const COUNT_PRESSES = `
  const pressed = (event) => {
    if (event.isTrusted && event.detail > 0) {
      sessionStorage.setItem('presses', Number(sessionStorage.getItem('presses') ?? 0) + 1);
    }
  };
  addEventListener('click', pressed, true);
  addEventListener('keydown', (event) => event.key === 'Enter' && pressed({ isTrusted: true, detail: 1 }), true);
`;

describe('the front desk’s lists', () => {
  let app: BrowserApp;
  let desk: Page;
  /** Due and not booked, most urgent first. */
  let due: { readonly id: string; readonly name: string }[];

  beforeAll(async () => {
    app = await startBrowserApp();
    desk = await app.visit({ role: 'desk' });
    await desk.goto('/due');
    due = [];
    for (const row of await desk.locator('.due-row').all()) {
      const id = (await row.getAttribute('id'))?.slice('c-'.length) ?? '';
      due.push({ id, name: await row.locator('a.whole').innerText() });
    }
    expect(due.length).toBeGreaterThan(5);
  }, 180_000);

  afterAll(async () => {
    await app.close();
  });

  const status = (page: Page = desk) => page.getByRole('status').first().innerText();

  /** What is booked tomorrow and has not been touched by an earlier test. */
  async function bookedTomorrow(place: number): Promise<Booked> {
    const answer = await desk.request.get(`/api/v1/appointments?date=${TOMORROW}`);
    const { columns } = (await answer.json()) as {
      columns: { staffId: string; appointments: (Booked & { state: string })[] }[];
    };
    const booked = columns.flatMap(({ staffId, appointments }) =>
      appointments.filter(({ state }) => state === 'booked').map((one) => ({ ...one, staffId })),
    );
    const one = booked[place];
    if (!one) throw new Error('The demo has too little booked tomorrow.');
    return one;
  }

  it('from a name to the next appointment in at most four presses', async () => {
    const hurried = await app.visit({ role: 'desk' });
    await hurried.addInitScript(COUNT_PRESSES);
    await hurried.goto('/clients');
    const { name } = due[0]!;
    await hurried.getByRole('searchbox').pressSequentially(name.slice(0, 12));
    await hurried.getByRole('link', { name, exact: true }).click();
    await hurried.getByRole('link', { name: 'Book', exact: true }).click();
    const first = hurried.locator('.slots > li').first();
    const when = (await first.locator('strong').innerText()).trim();
    await first.getByRole('button').click();
    expect(await status(hurried)).toBe(`${name} is booked for ${when}.`);
    const presses = await hurried.evaluate<number>(`Number(sessionStorage.getItem('presses'))`);
    expect(presses).toBeGreaterThanOrEqual(3);
    expect(presses).toBeLessThanOrEqual(4);
    await hurried.context().close();
  });

  it('shows at checkout the window, why, full cut or tidy, and three times with their reasons', async () => {
    await desk.goto(`/clients/${due[1]!.id}/rebook`);
    expect(await desk.locator('.window ol strong').count()).toBe(3);
    expect(await desk.locator('main').innerText()).toMatch(/A tidy is enough: |A full cut: no tidy on offer/);
    expect(await desk.locator('.slots > li').count()).toBe(3);
    for (const why of await desk.locator('.slots > li .soft').allInnerTexts())
      expect(why).toMatch(/\w+, \w+/);
    await desk.getByRole('link', { name: /^Full cut · 45 min/ }).click();
    const chosen = desk.getByRole('navigation', { name: 'What for' }).locator('[aria-current]');
    expect(await chosen.innerText()).toMatch(/^Full cut · 45 min/);
    expect(await desk.locator('.slots > li').count()).toBe(3);
  });

  it('asks why not now, and keeps the answer on the due list', async () => {
    const { id } = due[1]!;
    await desk.goto(`/clients/${id}/rebook`);
    await desk.getByText('Not now', { exact: true }).click();
    await desk.getByRole('button', { name: 'Keep on the due list' }).click();
    expect(await desk.getByRole('alert').innerText()).toContain('Reason: choose one');
    await desk.getByLabel('the price').check();
    await desk.getByLabel('What she said').fill('Every eight weeks is enough.');
    await desk.getByRole('button', { name: 'Keep on the due list' }).click();
    expect(await status()).toMatch(/ is on the due list\.$/);
    await desk.goto('/due');
    const row = desk.locator(`#c-${id}`);
    expect(await row.innerText()).toContain('the price. “Every eight weeks is enough.”');
    expect(await row.getByRole('button', { name: /^Book/ }).count()).toBe(0);
  });

  it('lists the due by the chance that the shape has gone, with a number, page by page', async () => {
    await desk.goto('/due?ahead=28');
    const shares = async () =>
      (await desk.locator('.due-row .state').allInnerTexts()).map((text) => {
        expect(text).toMatch(/: (over |under )?\d{1,2}\s%$/);
        return Number(/(\d+)\s%/.exec(text)?.[1]);
      });
    const first = await shares();
    expect(first).toEqual([...first].sort((a, b) => b - a));
    await desk.getByRole('link', { name: 'Next', exact: true }).click();
    const second = await shares();
    expect(second[0]).toBeLessThanOrEqual(first.at(-1) ?? 0);
    await desk.goto('/due?ahead=28');
    const all = Number(/^(\d+) client/.exec(await desk.locator('.head .soft').innerText())?.[1]);
    await desk.getByLabel('Stylist').selectOption({ index: 1 });
    await desk.getByRole('button', { name: 'Show' }).click();
    const hers = Number(/^(\d+) client/.exec(await desk.locator('.head .soft').innerText())?.[1]);
    expect(hers).toBeGreaterThan(0);
    expect(hers).toBeLessThan(all);
  });

  it('writes with one press, once, and books with one press', async () => {
    await desk.goto('/due');
    const write = desk.getByRole('button', { name: /^Write to / });
    const row = desk
      .locator('.due-row')
      .filter({ has: desk.getByRole('button', { name: /^Book / }) })
      .filter({ has: write })
      .first();
    const id = await row.getAttribute('id');
    await row.getByRole('button', { name: /^Write to / }).click();
    expect(await status()).toMatch(/^The invitation to .+ goes now, by mail\.$/);
    const again = desk.locator(`#${id}`).getByRole('button', { name: /^Write to / });
    await again.click();
    expect(await status()).toMatch(/^Nothing was sent to .+ on its way already\.$/);
    const book = desk.locator(`#${id}`).getByRole('button', { name: /^Book / });
    const when = /^Book (.+?, \d\d:\d\d)/.exec(await book.innerText())?.[1] ?? 'never';
    await book.click();
    expect(await status()).toContain(`is booked for ${when}`);
    expect(new URL(desk.url()).pathname).toBe('/due');
    expect(await desk.locator(`#${id}`).count()).toBe(0);
  });

  it('keeps who waits; a cancellation shows who could have the time, offers it, and books who says yes', async () => {
    const [first, second] = (['growing-out', 'long-backed-crop'] as const).map((key) =>
      storyOf(app.planted, key),
    );
    for (const { clientId } of [first!, second!]) {
      await desk.goto(`/waiting/new?clientId=${clientId}`);
      await desk.getByLabel('For what').selectOption({ label: 'Fringe tidy · 15 min' });
      await desk.getByLabel('Last day').fill('2026-05-01');
      await desk.getByRole('button', { name: 'Put on the waiting list' }).click();
      expect(await desk.locator('.field', { hasText: 'Last day' }).locator('.wrong').innerText()).toContain(
        'later day',
      );
      await desk.getByLabel('Last day').fill('2026-05-22');
      await desk.getByLabel('Fri', { exact: true }).check();
      await desk.getByRole('button', { name: 'Put on the waiting list' }).click();
      expect(await status()).toContain('is on the waiting list');
    }
    const lineOf = (clientId: string, within = desk.locator('main')) =>
      within.locator('.due-row').filter({ has: desk.locator(`a[href="/clients/${clientId}"]`) });
    const [hers, rivals] = [first!.clientId, second!.clientId];
    await lineOf(hers)
      .getByRole('link', { name: /^Change/ })
      .click();
    expect(await desk.getByLabel('Fri', { exact: true }).isChecked()).toBe(true);
    await desk.getByLabel('Note').fill('Rings before noon.');
    await desk.getByRole('button', { name: 'Save' }).click();
    expect(await lineOf(hers).innerText()).toContain('Rings before noon.');

    const { id } = await bookedTomorrow(0);
    await desk.goto(`/appointments/${id}/cancel`);
    await desk.getByRole('button', { name: 'Cancel the appointment' }).click();
    expect(new URL(desk.url()).pathname).toBe(`/appointments/${id}`);
    const freed = desk.getByRole('region', { name: 'Who waits and could have this time' });
    expect(await lineOf(hers, freed).innerText()).toMatch(/fills 15 of \d+ minutes/);
    await lineOf(hers, freed).getByRole('button', { name: 'Offer' }).click();
    expect(await status()).toBe(`Offered to ${first!.name}. The first to accept has it.`);
    const offers = freed.getByRole('list', { name: 'Offered to' }).getByRole('listitem');
    expect(await offers.innerText()).toMatch(/no answer yet$/);
    expect(await findings(desk)).toEqual([]);
    await lineOf(rivals, freed)
      .getByRole('button', { name: /^Said yes/ })
      .click();
    expect(await status()).toContain(`${second!.name} is booked for`);
    await desk.goto(`/appointments/${id}`);
    expect(await offers.innerText()).toMatch(/told that it is gone$/);
    await desk.goto('/waiting');
    expect(await lineOf(rivals).count()).toBe(0);
    await lineOf(hers)
      .getByRole('button', { name: /^Remove/ })
      .click();
    expect(await status()).toBe(`${first!.name} no longer waits.`);
  });

  it('books the plan as a whole, leaves one out, moves the rest, drops it', async () => {
    const { id } = due[4]!;
    await desk.goto(`/clients/${id}/plan`);
    await desk.getByRole('link', { name: 'See times for all of them' }).click();
    const times = desk.getByLabel(/^Time of visit \d+$/);
    const planned = await times.count();
    expect(planned).toBeGreaterThan(2);
    await times.nth(1).selectOption({ label: 'Leave out' });
    const chosen = [];
    for (const time of await times.all()) chosen.push(await time.inputValue());
    const wanted = chosen.filter(Boolean).length;
    await desk.getByRole('button', { name: 'Book all of them' }).click();
    expect(await status()).toContain(`is booked for ${wanted} visits.`);
    expect(await findings(desk)).toEqual([]);
    const rows = desk.locator('ol.list > li');
    expect(await rows.count()).toBe(wanted);
    const last = rows.last().locator('a.whole');
    const before = await last.innerText();
    await desk.getByLabel('From which on').selectOption({ label: before });
    await desk.getByLabel('Days later').fill('soon');
    await desk.getByRole('button', { name: 'Move them' }).click();
    expect(await desk.getByRole('alert').innerText()).toMatch(/Days: (give|move)/);
    await desk.getByLabel('From which on').selectOption({ label: before });
    await desk.getByLabel('Days later').fill('-7');
    await desk.getByRole('button', { name: 'Move them' }).click();
    expect(await status()).toBe('Moved, all of them.');
    expect(await last.innerText()).not.toBe(before);
    await desk
      .getByRole('button', { name: /^Leave out/ })
      .first()
      .click();
    expect(await rows.first().locator('.state').innerText()).toBe('cancelled');
    await desk.getByText('Drop the series').click();
    await desk.getByRole('button', { name: `Cancel all ${wanted - 1}` }).click();
    const states = await rows.locator('.state').allInnerTexts();
    expect(new Set(states)).toEqual(new Set(['cancelled']));
  });
});
