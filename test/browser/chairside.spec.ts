import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { Page } from 'playwright-core';
import sharp from 'sharp';
import { type BrowserApp, startBrowserApp } from './harness.js';
import { FIGURES_SHOWN, faultsAt } from './looks.js';
import { picture } from './picture.js';

const LINE = 'Umberline Cream';
/** What no page about colour may promise. */
const PROMISE = /\bsafe\b|\bsafely\b/i;
const DEFERS = /maker's instructions, local rules and licensed practice stand above/i;

type Body = Record<string, Record<string, string>>;

describe('chair-side, without JavaScript', () => {
  let app: BrowserApp;
  let token: string;
  /** Tested in April, coloured on 10 April and today. */
  let odile: string;
  let april: string;
  let today: string;

  const ask = async (path: string, body?: object): Promise<Body> => {
    const answer = await fetch(app.base + path, {
      method: body ? 'POST' : 'GET',
      headers: {
        ...(token && { authorization: `Bearer ${token}` }),
        ...(body && { 'content-type': 'application/json' }),
      },
      ...(body && { body: JSON.stringify(body) }),
    });
    if (!answer.ok) throw new Error(`${path}: ${answer.status} ${await answer.text()}`);
    return (await answer.json()) as Body;
  };

  beforeAll(async () => {
    app = await startBrowserApp();
    const who = app.planted.signIns.find(({ role }) => role === 'owner');
    token = '';
    const session = await ask('/api/v1/sessions', { email: who?.email, password: who?.password });
    token = String(session['token']);
    const salon = (await ask('/api/v1/salon')) as unknown as Record<string, Record<string, unknown>[]>;
    const staffId = salon['staff']?.find(({ cutsHair, active }) => cutsHair && active)?.['id'];
    const serviceId = salon['services']?.find(({ kind }) => kind === 'colour')?.['id'];
    const client = await ask('/api/v1/clients', {
      givenName: 'Odile',
      familyName: 'Marchbank',
      birthday: '1984-03-02',
    });
    odile = client['client']?.['id'] ?? '';
    const test = await ask(`/api/v1/clients/${odile}/skin-tests`, {
      productLine: LINE,
      place: 'inner elbow, left',
      date: '2026-04-01',
      time: '10:00',
      appliedById: staffId,
    });
    await ask(`/api/v1/skin-tests/${test['test']?.['id']}/reading`, {
      result: 'clear',
      date: '2026-04-03',
      time: '11:00',
    });
    const colour = async (visitOn: string) =>
      (await ask('/api/v1/visits', { clientId: odile, staffId, serviceId, productLine: LINE, visitOn }))[
        'visit'
      ]?.['id'] ?? '';
    april = await colour('2026-04-10');
    today = await colour('2026-05-14');
  }, 180_000);

  afterAll(async () => {
    await app.close();
  });

  const chair = () => app.visit({ role: 'stylist', script: false });
  const wrongAt = (page: Page, label: string) =>
    page
      .locator('.field', { has: page.getByLabel(label, { exact: true }) })
      .locator('.wrong')
      .innerText();

  async function addClient(page: Page, givenName: string, birthday: string): Promise<string> {
    await page.goto('/clients/new');
    await page.getByLabel('Given name').fill(givenName);
    if (birthday) await page.locator('#f-birthday').fill(birthday);
    await page.getByRole('button', { name: 'Save' }).click();
    return new URL(page.url()).pathname;
  }

  async function requireCautions(page: Page): Promise<void> {
    const text = await page.locator('main').innerText();
    expect(text).toMatch(DEFERS);
    expect(text).not.toMatch(PROMISE);
  }

  async function askGate(page: Page, path: string, date: string, time: string): Promise<string> {
    await page.goto(`${path}/skin-tests`);
    await page.getByLabel('Product line').fill(LINE);
    await page.getByLabel('Day').fill(date);
    await page.getByLabel('Time').fill(time);
    await page.getByRole('button', { name: 'Ask' }).click();
    return await page.getByRole('status').innerText();
  }

  it('takes a skin test from applied over clear to a late reaction and its medical clearance', async () => {
    let page = await chair();
    const path = await addClient(page, 'Ysolde', '1990-02-11');
    await page.getByRole('link', { name: 'Skin tests', exact: true }).click();
    await requireCautions(page);
    await page.getByRole('link', { name: 'Apply a test' }).click();
    await requireCautions(page);
    await page.getByLabel('Product line').fill(LINE);
    await page.getByLabel('Applied on').fill('2027-05-14');
    await page.getByLabel('At', { exact: true }).fill('09:00');
    await page.getByRole('button', { name: 'Put it on record' }).click();
    expect(await wrongAt(page, 'Place on the skin')).toContain('say where on the skin');
    expect(await page.getByLabel('Product line').inputValue()).toBe(LINE);
    await page.getByLabel('Place on the skin').fill('inner elbow, left');
    await page.getByRole('button', { name: 'Put it on record' }).click();
    expect(await wrongAt(page, 'Applied on')).toContain('still to come');
    await page.getByLabel('Applied on').fill('');
    await page.getByLabel('At', { exact: true }).fill('');
    await page.getByLabel('Days it counts, by the maker').fill('30');
    await page.getByRole('button', { name: 'Put it on record' }).click();
    expect(await page.getByRole('status').innerText()).toContain('read clear from Sat 16 May, 10:20');
    expect(await page.locator('.records .state').first().innerText()).toBe('applied');
    // 48 h: Cosmetics Europe 2023 and the FDA's advice ("two days").
    const refused = await askGate(page, path, '2026-05-15', '10:00');
    expect(refused).toContain('No colour');
    expect(refused).toContain('First date that would do: Sat, 16 May 2026, from 10:20');

    await page.goto(`${path}/skin-tests`);
    await page.getByRole('link', { name: /^Read it/ }).click();
    await requireCautions(page);
    await page.getByLabel('Result').selectOption('clear');
    await page.getByRole('button', { name: 'Put it on record' }).click();
    expect(await wrongAt(page, 'Result')).toContain('only after 48 hours');

    await app.standAt('2026-05-16T09:19:00Z');
    page = await chair();
    expect(await askGate(page, path, '2026-05-16', '10:20')).toContain('No colour');
    await app.standAt('2026-05-16T09:20:00Z');
    await page.goto(`${path}/skin-tests`);
    expect(await page.locator('.records .state').first().innerText()).toBe('not read');
    await page.getByRole('link', { name: /^Read it/ }).click();
    await page.getByLabel('Result').selectOption('clear');
    await page.getByRole('button', { name: 'Put it on record' }).click();
    expect(await page.locator('.records .state').first().innerText()).toBe('clear');
    const allowed = await askGate(page, path, '2026-05-16', '11:00');
    expect(allowed).toContain(`covers ${LINE} and nothing else`);
    await requireCautions(page);
    // The maker's 30 days, not the salon's 180.
    expect(await askGate(page, path, '2026-06-15', '11:00')).toContain('No colour');

    await page.goto(`${path}/skin-tests`);
    await page.getByRole('link', { name: /^It reacted later/ }).click();
    await page.getByRole('button', { name: 'Put it on record' }).click();
    expect(await wrongAt(page, 'What was seen or felt, and when')).toContain('what reacted and when');
    await page.getByLabel('What was seen or felt, and when').fill('Red and itching on the third day.');
    await page.getByRole('button', { name: 'Put it on record' }).click();
    expect(await page.locator('.records .state').first().innerText()).toBe('reacted');
    expect(await page.locator('.caution.stop').first().innerText()).toContain('A reaction is on record');
    expect(await page.getByRole('link', { name: 'Record a clearance' }).count()).toBe(0);
    await page.goto(`${path}/skin-tests/clearance`);
    expect(await page.locator('main').innerText()).toContain('Only the owner may record');

    const desk = await app.visit({ role: 'desk', script: false });
    await desk.goto(`${path}/skin-tests`);
    expect(await desk.locator('.records .state').first().innerText()).toBe('reacted');
    expect(await desk.locator('main').innerText()).not.toContain('itching');
    expect(await desk.getByRole('link', { name: 'Apply a test' }).count()).toBe(0);

    const owner = await app.visit({ role: 'owner', script: false });
    await owner.goto(`${path}/skin-tests`);
    await owner.getByRole('link', { name: 'Record a clearance' }).click();
    await requireCautions(owner);
    await owner.getByLabel('Date of the document').fill('2026-05-01');
    await owner.getByLabel('Issued by').fill('Dr A. Fennimore');
    await owner.getByLabel('What it says').fill('May be tested again with another line.');
    await owner.getByRole('button', { name: 'Put it on record' }).click();
    expect(await wrongAt(owner, 'Date of the document')).toContain('older than the reaction');
    expect(await owner.getByLabel('What it says').inputValue()).toContain('another line');
    await owner.getByLabel('Date of the document').fill('2026-05-16');
    await owner.getByRole('button', { name: 'Put it on record' }).click();
    expect(await owner.locator('main').innerText()).toContain('by Dr A. Fennimore');
    expect(await askGate(owner, path, '2026-05-20', '11:00')).toContain('No colour');
    await app.standAt('2026-05-14T09:20:00Z');
  }, 120_000);

  it('tests nobody whose birthday is unknown, and says what to do', async () => {
    const page = await chair();
    const path = await addClient(page, 'Wilmot', '');
    await page.goto(`${path}/skin-tests/new`);
    await page.getByLabel('Product line').fill(LINE);
    await page.getByLabel('Place on the skin').fill('inner elbow');
    await page.getByRole('button', { name: 'Put it on record' }).click();
    expect(await page.getByRole('alert').innerText()).toContain('birthday is not on record');
    expect(await page.getByLabel('Place on the skin').inputValue()).toBe('inner elbow');
    expect(await page.getByRole('link', { name: 'Change the client' }).count()).toBe(1);
  });

  it('keeps a consultation, its consents and its health part; what bars colour bars it at once', async () => {
    const page = await chair();
    const path = await addClient(page, 'Perdita', '1979-09-30');
    await page.getByRole('link', { name: 'Consultations', exact: true }).click();
    await page.getByRole('link', { name: 'New consultation' }).click();
    await requireCautions(page);
    await page.getByLabel('Wanted shape').fill('Shorter over the ears');
    await page.getByLabel('Daily effort accepted, min').fill('500');
    await page.getByLabel('nape grows up').check();
    await page.getByLabel('irritated', { exact: true }).check();
    await page.getByLabel('A reaction to colouring, ever').fill('Itched for two days, about 2019.');
    await page.getByLabel('Photographs').selectOption('yes:signed');
    await page.getByRole('button', { name: 'Put it on record' }).click();
    expect(await wrongAt(page, 'Daily effort accepted, min')).toContain('from 0 to 180');
    expect(await page.getByLabel('nape grows up').isChecked()).toBe(true);
    expect(await page.getByLabel('A reaction to colouring, ever').inputValue()).toContain('2019');
    await page.getByLabel('Daily effort accepted, min').fill('5');
    await page.getByRole('button', { name: 'Put it on record' }).click();
    expect(await page.getByRole('status').innerText()).toContain('bars colour from now on');
    const text = await page.locator('main').innerText();
    for (const part of ['Shorter over the ears', '5 min a day', 'nape grows up', 'irritated', '2019']) {
      expect(text).toContain(part);
    }
    expect(text).toContain('agreed, signed, 14 May');
    const consultation = new URL(page.url()).pathname;
    await page.goto(`${path}/consultations/new`);
    expect(await page.getByLabel('nape grows up').isChecked()).toBe(true);
    await page.goto(`${path}/consultations`);
    const list = await page.locator('main').innerText();
    expect(list).toContain('Shorter over the ears');
    expect(list).not.toContain('2019');
    await page.goto(`${path}/skin-tests`);
    expect(await page.locator('.caution.stop').first().innerText()).toContain('No colour');
    await page.getByRole('button', { name: 'The scalp has settled' }).click();
    expect(await page.getByText('Settled since').count()).toBe(1);

    const desk = await app.visit({ role: 'desk', script: false });
    expect((await desk.goto(consultation))?.status()).toBe(403);
    await desk.goto(`${path}/skin-tests`);
    expect(await desk.locator('main').innerText()).not.toContain('2019');
    const owner = await app.visit({ role: 'owner', script: false });
    await owner.goto('/audit?what=consultation.health');
    expect(await owner.locator('main').innerText()).toContain('consultation.health.look');
  }, 60_000);

  it('records a mixture only with tested lines, and tells the root band and the day it is too wide', async () => {
    const page = await chair();
    await page.goto(`/clients/${odile}`);
    await page.getByRole('link', { name: 'Colour', exact: true }).click();
    await requireCautions(page);
    await page.getByRole('link', { name: /^Record it.*Fri 10 Apr$/ }).click();
    await requireCautions(page);
    await page.getByLabel('Product line 1', { exact: true }).fill('Umberline Oil');
    const row = (n: number) => page.getByRole('group', { name: `Line ${n}`, exact: true });
    await row(1).getByLabel('Shade').fill('6/0');
    await row(1).getByLabel('Parts').fill('1,5');
    await page.getByLabel('Developer', { exact: true }).fill('20');
    await page.getByLabel('In', { exact: true }).selectOption('volumes');
    await page.locator('#f-developer-developerParts').fill('3');
    await page.getByLabel('On for, min').fill('35');
    await page.getByRole('button', { name: 'Put it on record' }).click();
    expect(await wrongAt(page, 'Product line 1')).toContain('a test of one line says nothing about another');
    expect(await row(1).getByLabel('Parts').inputValue()).toBe('1,5');
    await page.getByLabel('Product line 1', { exact: true }).fill(LINE);
    await page.getByRole('button', { name: 'Put it on record' }).click();
    const shown = await page.locator('main').innerText();
    // 40 volumes are 12 %: Commission Regulation (EU) 2019/831, Annex III entry 12; in proportion, common practice.
    expect(shown).toContain('6 % (20 volumes), 3 parts');
    expect(shown).toContain('1.5 parts');
    const [, low = '', high = ''] = /\(([\d.]+)–([\d.]+) cm\) at the top, 34 days/.exec(shown) ?? [];
    // American Academy of Dermatology, public advice: about half an inch a month, 6 inches a year.
    const published = (34 * 6 * 2.54) / 365;
    expect(published).toBeGreaterThan(Number(low));
    expect(published).toBeLessThan(Number(high));

    await page.getByLabel('Root band up to, cm').fill('wide');
    await page.getByRole('button', { name: 'Set' }).click();
    expect(await wrongAt(page, 'Root band up to, cm')).toContain('number of cm');
    expect(await page.getByLabel('Root band up to, cm').inputValue()).toBe('wide');
    await page.getByLabel('Root band up to, cm').fill('1.5');
    await page.getByRole('button', { name: 'Set' }).click();
    expect(await page.locator('main').innerText()).toMatch(
      /Tolerance 1.5 cm\. It passes it about \w{3} \d+ \w+/,
    );
    await page.getByRole('link', { name: /^Another of this visit/ }).click();
    expect(await page.getByLabel('Product line 1', { exact: true }).inputValue()).toBe(LINE);
  }, 60_000);

  it('offers no mixture on a visit that passed no gate', async () => {
    const page = await chair();
    const story = app.planted.stories.find(({ key }) => key === 'stacked-bob');
    await page.goto(`/clients/${story?.clientId}/photos`);
    const visit = await page.locator('.jump a').first().getAttribute('href');
    await page.goto(visit?.replace('/photos', '/colour') ?? '');
    expect(await page.locator('main').innerText()).toContain('No mixture can be recorded');
    expect(await page.getByRole('button', { name: 'Put it on record' }).count()).toBe(0);
    await requireCautions(page);
  });

  async function addPhoto(page: Page, angle: string, moment: string, buffer: Buffer, name = 'IMG_1.jpg') {
    await page.getByLabel('Angle').selectOption(angle);
    await page.getByLabel('Moment').selectOption(moment);
    await page.getByLabel('Picture').setInputFiles({ name, mimeType: 'image/jpeg', buffer });
    await page.getByRole('button', { name: 'Add it' }).click();
  }

  it('keeps photos of a visit, refuses what is none, and sets two visits side by side', async () => {
    const page = await chair();
    await page.goto(`/clients/${odile}/photos`);
    await page.getByRole('link', { name: 'Thu 14 May' }).click();
    await page.getByRole('button', { name: 'Add it' }).click();
    expect(await page.getByRole('alert').innerText()).toContain('Angle: choose one of');
    await addPhoto(page, 'back', 'before', Buffer.from('These are words, whatever the name says.'));
    expect(await wrongAt(page, 'Picture')).toContain('no JPEG, PNG or WebP picture');
    expect(await page.getByLabel('Angle').inputValue()).toBe('back');
    expect(await page.getByLabel('Moment').inputValue()).toBe('before');
    await addPhoto(page, 'back', 'before', Buffer.alloc(13 * 1024 * 1024));
    expect(await wrongAt(page, 'Picture')).toContain('at most 12 MB');
    expect(await page.locator('.pictures img').count()).toBe(0);

    await addPhoto(page, 'back', 'after', await picture('#aa9988'));
    expect(await page.getByRole('status').innerText()).toContain('The photo is kept: back, after.');
    const image = page.locator('.pictures img');
    const address = (await image.getAttribute('src')) ?? '';
    const sent = await page.request.get(address);
    expect(sent.headers()).toMatchObject({
      'content-type': 'image/jpeg',
      'cache-control': 'private, no-store',
    });
    // Kept at most 1,600 px long, in the picture's own proportions.
    const kept = await sharp(await sent.body()).metadata();
    expect([kept.width, kept.height]).toEqual([1333, 1600]);
    await page.waitForLoadState('networkidle');
    expect(await page.evaluate(`document.querySelector('.pictures img').naturalWidth`)).toBe(1333);

    await page.goto(`/visits/${april}/photos`);
    await addPhoto(page, 'back', 'after', await picture('#8899aa'));
    await page.goto(`/visits/${today}/photos`);
    await page.getByLabel('Set beside the visit of').selectOption({ label: 'Fri 10 Apr' });
    await page.getByRole('button', { name: 'Before and after' }).click();
    const back = page.locator('section', { hasText: 'back' });
    expect(await back.locator('figcaption').allInnerTexts()).toEqual([
      'Before · Fri 10 Apr',
      'After · Thu 14 May',
    ]);
    expect(await back.locator('img').count()).toBe(2);

    const desk = await app.visit({ role: 'desk', script: false });
    expect((await desk.request.get(address)).status()).toBe(403);
    expect((await desk.goto(`/visits/${today}/photos`))?.status()).toBe(403);

    await page.goto(`/visits/${today}/photos`);
    await page.locator('summary', { hasText: 'Remove' }).click();
    await page.getByRole('button', { name: 'Remove it for good' }).click();
    expect(await page.getByRole('status').innerText()).toContain('gone for good');
    expect((await page.request.get(address)).status()).toBe(404);
  }, 120_000);

  it('takes the token from the address only of a form with a file', async () => {
    const page = await chair();
    await page.goto(`/visits/${today}/photos`);
    const action = (await page.locator('form[enctype]').getAttribute('action')) ?? '';
    const query = new URL(action, app.base).search;
    const multipart = {
      angle: 'back',
      photo: { name: 'a.jpg', mimeType: 'image/jpeg', buffer: Buffer.from('x') },
    };
    const send = async (path: string, form: object) => (await page.request.post(path, form)).status();
    expect(await send(action, { multipart })).toBe(422);
    expect(await send(`/visits/${today}/photos`, { multipart })).toBe(403);
    expect(await send(`/visits/${today}/photos?_csrf=made-up`, { multipart })).toBe(403);
    expect(await send(`/clients/${odile}/skin-tests/scalp-settled${query}`, { form: { any: 'thing' } })).toBe(
      403,
    );
  });

  it('finds no fault with pages that have records on them', async () => {
    const found: Record<string, string[]> = {};
    const figures: string[] = [];
    const page = await app.visit({ role: 'stylist' });
    for (const path of [
      `/clients/${odile}/skin-tests?productLine=${LINE}`,
      `/clients/${odile}/colour`,
      `/visits/${april}/colour`,
      `/clients/${odile}/photos`,
      `/visits/${april}/photos`,
      `/visits/${april}/compare?against=${today}`,
    ]) {
      const faults = await faultsAt(page, path);
      if (faults.length > 0) found[path] = faults;
      figures.push(...(await page.evaluate<string[]>(FIGURES_SHOWN)));
    }
    expect(found).toEqual({});
    expect(figures).toEqual(expect.arrayContaining(['root-band', 'skin-test']));
  }, 120_000);
});
