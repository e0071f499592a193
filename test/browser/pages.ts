import type { Role } from '../../src/identity/index.js';
import type { BrowserApp } from './harness.js';
import { storyOf } from './harness.js';

/** One page as somebody meets it. */
export type Place = {
  readonly name: string;
  readonly role?: Role;
  readonly path: string;
};

/** Id of the appointment that a told client has today, read off the day book by the desk. */
export async function todaysAppointment(
  app: BrowserApp,
  key: Parameters<typeof storyOf>[1],
): Promise<string> {
  const page = await app.visit({ role: 'desk' });
  const entry = page.locator('.entry').filter({ hasText: storyOf(app.planted, key).name });
  const id = (await entry.getAttribute('id'))?.replace(/^a-/, '');
  await page.context().close();
  if (!id) throw new Error(`The day book does not show ${key}.`);
  return id;
}

/** Staff row of one who cuts hair, read off the list of staff. */
async function someStylist(app: BrowserApp): Promise<string> {
  const page = await app.visit({ role: 'owner' });
  await page.goto('/settings/staff');
  const link = await page
    .getByRole('link', { name: /^Hours of/ })
    .first()
    .getAttribute('href');
  await page.context().close();
  return link?.split('/')[3] ?? '';
}

/** The way of a client to the first shape that is offered. */
async function someReshape(app: BrowserApp, clientId: string): Promise<string> {
  const page = await app.visit({ role: 'stylist' });
  await page.goto(`/clients/${clientId}/reshape`);
  const target = await page.getByLabel('Wanted shape').locator('option').nth(1).getAttribute('value');
  await page.context().close();
  return `/clients/${clientId}/reshape?to=${target}`;
}

/** A sheet that the owner has handed in and checked: one row would be new, one is refused. */
async function someImport(app: BrowserApp): Promise<string> {
  const page = await app.visit({ role: 'owner' });
  await page.goto('/imports');
  const sheet = 'First name,Surname,Mobile,Date of birth\nAda,Lark,07700 900101,27/05/1984\nBo,Wren,12,\n';
  await page
    .getByLabel('File', { exact: true })
    .setInputFiles({ name: 'sheet.csv', mimeType: 'text/csv', buffer: Buffer.from(sheet) });
  await page.getByRole('button', { name: 'Look at it' }).click();
  await page.getByRole('button', { name: 'Check every row' }).click();
  await page.getByRole('heading', { name: 'This would happen' }).waitFor();
  const path = new URL(page.url()).pathname;
  await page.context().close();
  return path;
}

/** A program that the owner has told of, with a test on its way. */
async function someWebhook(app: BrowserApp): Promise<string> {
  const page = await app.visit({ role: 'owner' });
  await page.goto('/settings/webhooks');
  await page.getByLabel('Address').fill('https://rota.example.org/halfinch');
  await page.getByLabel('appointment booked').check();
  await page.getByRole('button', { name: 'Add' }).click();
  await page.getByRole('button', { name: 'Send a test' }).click();
  await page.getByText('A test is on its way').waitFor();
  const path = new URL(page.url()).pathname;
  await page.context().close();
  return path;
}

/** Every page of the product that can be opened by its address, in the states that look different. */
export async function allPlaces(app: BrowserApp): Promise<Place[]> {
  const bob = storyOf(app.planted, 'stacked-bob').clientId;
  const lapsed = storyOf(app.planted, 'lapsed-skin-test').clientId;
  const appointment = await todaysAppointment(app, 'stacked-bob');
  const mine = await someStylist(app);
  return [
    { name: 'sign-in', path: '/sign-in' },
    { name: 'appointment by link', path: app.guestLinks.appointment },
    { name: 'move by link', path: `${app.guestLinks.appointment}/move` },
    { name: 'cancel by link', path: `${app.guestLinks.appointment}/cancel` },
    { name: 'next cut by link', path: app.guestLinks.next },
    { name: 'offer by link', path: app.guestLinks.offer },
    { name: 'link that is over', path: '/a/over' },
    { name: 'today of a stylist', role: 'stylist', path: '/today' },
    { name: 'card', role: 'stylist', path: `/clients/${bob}` },
    { name: 'card with a lapsed skin test', role: 'stylist', path: `/clients/${lapsed}` },
    { name: 'card on a day ahead', role: 'stylist', path: `/clients/${bob}?on=2026-07-01` },
    { name: 'complete a visit', role: 'stylist', path: `/appointments/${appointment}/complete` },
    {
      name: 'complete a visit from nothing',
      role: 'stylist',
      path: `/appointments/${appointment}/complete?from=none`,
    },
    { name: 'skin tests, one lapsed', role: 'stylist', path: `/clients/${lapsed}/skin-tests` },
    {
      name: 'the gate asked',
      role: 'stylist',
      path: `/clients/${lapsed}/skin-tests?productLine=Ferncote+Cream&date=2026-05-20&time=10:00`,
    },
    { name: 'apply a skin test', role: 'stylist', path: `/clients/${lapsed}/skin-tests/new` },
    { name: 'safety note', role: 'stylist', path: `/clients/${lapsed}/skin-tests/note` },
    { name: 'messages to a client', role: 'desk', path: `/clients/${bob}/messages` },
    { name: 'skin tests at the desk', role: 'desk', path: `/clients/${lapsed}/skin-tests` },
    { name: 'medical clearance', role: 'owner', path: `/clients/${lapsed}/skin-tests/clearance` },
    { name: 'consultations', role: 'stylist', path: `/clients/${bob}/consultations` },
    { name: 'new consultation', role: 'stylist', path: `/clients/${bob}/consultations/new` },
    { name: 'colour', role: 'stylist', path: `/clients/${lapsed}/colour` },
    { name: 'photos', role: 'stylist', path: `/clients/${bob}/photos` },
    { name: 'card as wanted', role: 'stylist', path: `/clients/${bob}?show=wanted` },
    { name: 'plan of tidies', role: 'stylist', path: `/clients/${bob}/plan` },
    { name: 'reshape', role: 'stylist', path: `/clients/${bob}/reshape` },
    { name: 'reshape, the way to a shape', role: 'stylist', path: await someReshape(app, bob) },
    { name: 'plan at the desk', role: 'desk', path: `/clients/${bob}/plan` },
    { name: 'not allowed', role: 'stylist', path: '/messages' },
    { name: 'today at the desk', role: 'desk', path: '/today' },
    { name: 'a day long past', role: 'desk', path: '/today?date=2019-01-01' },
    { name: 'a day ahead', role: 'desk', path: '/today?date=2026-05-15' },
    { name: 'a day on which the clock goes back', role: 'desk', path: '/today?date=2026-10-25' },
    { name: 'week', role: 'desk', path: '/week?date=2026-05-15' },
    { name: 'walk-in', role: 'desk', path: '/walk-in' },
    { name: 'walk-in, found', role: 'desk', path: '/walk-in?q=ash' },
    { name: 'clients', role: 'desk', path: '/clients' },
    { name: 'clients found', role: 'desk', path: '/clients?q=ash' },
    { name: 'nobody found', role: 'desk', path: '/clients?q=zzzzqqqq' },
    { name: 'add a client', role: 'desk', path: '/clients/new' },
    { name: 'change a client', role: 'stylist', path: `/clients/${bob}/edit` },
    { name: 'card at the desk', role: 'desk', path: `/clients/${bob}` },
    { name: 'next visit', role: 'desk', path: `/clients/${bob}/rebook` },
    { name: 'book, for whom', role: 'desk', path: '/book' },
    { name: 'book, found', role: 'desk', path: '/book?q=oko&date=2026-05-15' },
    { name: 'book', role: 'desk', path: `/book?clientId=${bob}` },
    { name: 'appointment', role: 'desk', path: `/appointments/${appointment}` },
    { name: 'move', role: 'desk', path: `/appointments/${appointment}/move` },
    { name: 'cancel', role: 'desk', path: `/appointments/${appointment}/cancel` },
    { name: 'due', role: 'desk', path: '/due' },
    { name: 'due, long gone', role: 'desk', path: '/due?gone=yes' },
    { name: 'waiting list', role: 'desk', path: '/waiting' },
    { name: 'waiting list, when', role: 'desk', path: `/waiting/new?clientId=${bob}` },
    { name: 'book ahead', role: 'desk', path: `/clients/${bob}/series/new` },
    { name: 'closures', role: 'desk', path: '/settings/closures' },
    { name: 'settings', role: 'owner', path: '/settings' },
    { name: 'the salon', role: 'owner', path: '/settings/salon' },
    { name: 'opening hours', role: 'owner', path: '/settings/hours' },
    { name: 'services', role: 'owner', path: '/settings/services' },
    { name: 'a new service', role: 'owner', path: '/settings/services/new' },
    { name: 'chairs, basins and rooms', role: 'owner', path: '/settings/resources' },
    { name: 'staff', role: 'owner', path: '/settings/staff' },
    { name: 'a new member of staff', role: 'owner', path: '/settings/staff/new' },
    { name: 'a week', role: 'owner', path: `/settings/staff/${mine}/rota` },
    { name: 'programs that are told', role: 'owner', path: '/settings/webhooks' },
    { name: 'program that is told', role: 'owner', path: await someWebhook(app) },
    { name: 'own calendar', role: 'stylist', path: '/calendar' },
    { name: 'messages', role: 'desk', path: '/messages' },
    { name: 'failed messages', role: 'desk', path: '/messages?state=failed' },
    { name: 'words of messages', role: 'owner', path: '/messages/words' },
    { name: 'words of one message', role: 'owner', path: '/messages/words/appointment-reminder/mail/en' },
    { name: 'rules of messages', role: 'owner', path: '/messages/rules' },
    { name: 'invitations to many', role: 'owner', path: '/messages/runs' },
    { name: 'not found', role: 'desk', path: '/clients/nobody' },
    { name: 'figures', role: 'owner', path: '/figures' },
    { name: 'imports', role: 'owner', path: '/imports' },
    { name: 'an import that was checked', role: 'owner', path: await someImport(app) },
  ];
}
