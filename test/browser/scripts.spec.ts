import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { Account, SYSTEM } from '../../src/identity/index.js';
import { Salons, Service, Staff } from '../../src/salon/index.js';
import { SafetyRecords, SkinTests } from '../../src/skin-tests/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CROP } from '../factories/cuts.js';
import { openSession } from '../factories/security.js';
import { launchBrowser } from './launch.js';

/** Ends an attribute, a script, a text box or a title, and runs where anything of it is taken for markup. */
const PAYLOAD = `"'></textarea><script>ran(1)</script><img src=x onerror=ran(2)>`;
const SHORT = '"><img src=x onerror=ran(3)>';
const AS_URL = 'javascript:ran(4)';

/** Forms that would end the walk: they sign out, close accounts or make the device a desk. */
const ENDS_THE_WALK = /sign-out|\/desk|\/close|sessions\/|\/password|codes/;
const MOST_PAGES = 150;
const MINUTES = 60_000;

describe('script in a text field', () => {
  let test: TestApp;
  let base: string;
  let browser: Browser;
  let context: BrowserContext;
  const ran: string[] = [];

  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
    await plant(test);
    await test.app.listen(0, '127.0.0.1');
    base = await test.app.getUrl();
    browser = await launchBrowser();
    // Without the policy, so that escaping alone is tested: with it not even what slips through would run.
    context = await browser.newContext({ bypassCSP: true });
    await context.exposeFunction('ran', (where: number) => {
      ran.push(String(where));
    });
    await context.addCookies([{ name: 'halfinch', value: await openSession(test.app, 'owner'), url: base }]);
  }, 3 * MINUTES);
  afterAll(async () => {
    await browser?.close();
    await test.close();
  });

  /** Handlers and scripts that came out of the payload, as the browser understood the page. */
  const markupOf = (page: Page) =>
    page.evaluate(
      `[...document.querySelectorAll('[onerror], a[href^="javascript:"], form[action^="javascript:"]')].length +
       [...document.scripts].filter((script) => script.textContent.includes('ran(')).length`,
    );

  it('runs where a page is careless, so that its silence means something', async () => {
    const page = await context.newPage();
    await page.goto(`${base}/sign-in`);
    await page.setContent(`<input value="${PAYLOAD}">`);
    // Waits for as long as a test may take: told across processes, it comes when it comes.
    while (ran.length < 2) await page.waitForTimeout(20);
    expect(ran.sort()).toEqual(['1', '2']);
    expect(await markupOf(page)).toBeGreaterThan(0);
    ran.length = 0;
    await page.close();
  });

  it(
    'never runs, wherever it is shown',
    async () => {
      const page = await context.newPage();
      const wrong: string[] = [];
      let shown = 0;
      const look = async (where: string) => {
        if ((await markupOf(page)) !== 0) wrong.push(`${where}: markup`);
        if (ran.length > 0) wrong.push(`${where}: ran ${ran.splice(0)}`);
        if ((await page.content()).includes('onerror=ran')) shown += 1;
      };
      const open = [
        '/today',
        '/clients?search=a',
        '/due',
        '/messages',
        '/figures',
        '/account',
        '/people',
        '/audit',
        '/privacy?search=a',
      ];
      open.push(...REFLECTED);
      const seen = new Set<string>();
      const forms = new Set<string>();
      while (open.length > 0 && seen.size < MOST_PAGES) {
        const path = open.shift() ?? '';
        const kind = path
          .replace(/[0-9a-f-]{36}/g, ':id')
          .replace(/\?.*/, REFLECTED.includes(path) ? path : '');
        if (seen.has(kind)) continue;
        seen.add(kind);
        const answer = await page.goto(base + path).catch(() => null);
        if (!answer?.headers()['content-type']?.includes('text/html')) continue;
        if (answer.status() >= 500) wrong.push(`${path}: ${answer.status()}`);
        await look(path);
        open.push(...(await linksOf(page)));
        for (const index of await textForms(page)) {
          await page.goto(base + path);
          const action = await submitted(page, index, forms);
          if (action) await look(`${path} after ${action}`);
        }
      }
      expect(wrong).toEqual([]);
      expect(seen.size).toBeGreaterThan(20);
      expect(forms.size).toBeGreaterThan(8);
      // Shown as text on many pages, or nothing was tested.
      expect(shown).toBeGreaterThan(10);
      await page.close();
    },
    10 * MINUTES,
  );
});

/** What can be typed into. */
const BOXES = `input${['hidden', 'checkbox', 'radio', 'file'].map((type) => `:not([type=${type}])`).join('')}, textarea`;

/** Addresses that show what they were asked. */
const REFLECTED = [
  `/sign-in?next=${encodeURIComponent(PAYLOAD)}`,
  `/sign-in?next=${encodeURIComponent(AS_URL)}`,
  `/clients?search=${encodeURIComponent(PAYLOAD)}`,
  `/privacy?search=${encodeURIComponent(PAYLOAD)}`,
  `/audit?what=${encodeURIComponent(PAYLOAD)}`,
  `/audit?about=${encodeURIComponent(SHORT)}`,
  `/new-password?link=${encodeURIComponent(PAYLOAD)}`,
  `/today?date=${encodeURIComponent(PAYLOAD)}`,
  `/messages?state=${encodeURIComponent(PAYLOAD)}`,
  `/figures?from=${encodeURIComponent(PAYLOAD)}`,
  `/${encodeURIComponent(PAYLOAD)}`,
];

async function linksOf(page: Page): Promise<string[]> {
  const links: string[] = await page.evaluate(
    `[...document.querySelectorAll('a[href^="/"]')].map((link) => link.getAttribute('href'))`,
  );
  return links.filter((link) => !link.startsWith('//'));
}

/** Places of the forms that have a box to type into. */
async function textForms(page: Page): Promise<number[]> {
  return await page.evaluate(
    `[...document.forms].flatMap((form, i) =>
       form.querySelector('${BOXES}') ? [i] : [])`,
  );
}

/** Fills every box of a form with the payload and sends it; undefined when its kind was sent before. */
async function submitted(page: Page, index: number, done: Set<string>): Promise<string | undefined> {
  const action: string = await page.evaluate(
    `(document.forms[${index}]?.method ?? '') + ' ' + (document.forms[${index}]?.getAttribute('action') ?? '')`,
  );
  const kind = action.replace(/[0-9a-f-]{36}/g, ':id').replace(/\?.*/, '');
  if (kind === ' ' || done.has(kind) || ENDS_THE_WALK.test(kind)) return undefined;
  done.add(kind);
  const sent = page.waitForNavigation({ timeout: 3000 }).catch(() => undefined);
  await page.evaluate(`(() => {
    const form = document.forms[${index}];
    for (const box of form.querySelectorAll('${BOXES}')) {
      box.type === 'email' || box.type === 'date' || box.type === 'number' ? box.setAttribute('type', 'text') : undefined;
      box.removeAttribute('maxlength');
      box.value = ${JSON.stringify(PAYLOAD)};
    }
    HTMLFormElement.prototype.submit.call(form);
  })()`);
  await sent;
  return kind;
}

/** Puts the payload into every text that the rooms keep. */
async function plant(test: TestApp): Promise<void> {
  const salons = test.app.get(Salons, { strict: false });
  await salons.change(test.salon.id, { name: PAYLOAD, address: PAYLOAD }, SYSTEM);
  const { mara } = test;
  await test.units.run(async (manager) => {
    await manager.update(Staff, { id: mara.id }, { name: PAYLOAD });
    for (const named of [Service, Account]) await manager.updateAll(named, { name: PAYLOAD });
  });
  const ids: string[] = [];
  for (const more of [{ email: 'a@example.org', phone: '+447700900418' }, {}]) {
    const answer = await test.ask('owner', 'POST', '/api/v1/clients', {
      givenName: PAYLOAD,
      familyName: SHORT,
      knownAs: PAYLOAD,
      notes: PAYLOAD,
      healthNotes: PAYLOAD,
      birthday: '1984-05-27',
      ...more,
    });
    expect(answer.status).toBe(201);
    ids.push((answer.body as { client: { id: string } }).client.id);
  }
  const [clientId = '', other = ''] = ids;
  const formula = {
    ...CROP,
    name: PAYLOAD,
    notes: PAYLOAD,
    steps: CROP.steps.map((step) => ({ ...step, notes: PAYLOAD, tool: SHORT })),
  };
  const visit = await test.ask('owner', 'POST', '/api/v1/visits', {
    clientId,
    staffId: mara.id,
    serviceId: test.fullCut.id,
    notes: PAYLOAD,
    formula,
  });
  expect(visit.status).toBe(201);
  for (const [who, date] of [
    [clientId, '2026-06-16'],
    [other, '2026-06-01'],
  ]) {
    const booked = await test.ask('desk', 'POST', '/api/v1/appointments', {
      clientId: who,
      staffId: mara.id,
      serviceId: test.fullCut.id,
      date,
      time: '16:00',
      notes: PAYLOAD,
    });
    expect(booked.status).toBe(201);
  }
  const skinTests = test.app.get(SkinTests, { strict: false });
  const applied = await skinTests.record(
    { clientId, productLine: PAYLOAD, place: PAYLOAD, appliedById: mara.id },
    SYSTEM,
  );
  await skinTests.read(applied.id, { result: 'reacted', seen: PAYLOAD }, SYSTEM);
  await test.app
    .get(SafetyRecords, { strict: false })
    .note(clientId, { kind: 'colour-reaction', told: PAYLOAD }, SYSTEM);
}
