import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { Page } from 'playwright-core';
import { findings } from './axe.js';
import { type BrowserApp, SIZES, startBrowserApp } from './harness.js';
import { allPlaces, type Place } from './pages.js';

/** Smallest target of WCAG 2.2, success criterion 2.5.5, in CSS pixels. */
const TARGET_PX = 44;

/** What is pressed or typed into; links inside a line of text are exempt, as in 2.5.5. */
const TARGETS = 'button, .button, select, nav a, input:not([type=hidden])';

// Run in the page, hence as text: these sources are compiled without the browser's types.
// The label of a tick or a choice is pressed with it, and is its target.
const SMALL_TARGETS = `[...document.querySelectorAll('${TARGETS}')]
  .map((target) => (/^(checkbox|radio)$/.test(target.type) && target.closest('label')) || target)
  .filter((target) => target.checkVisibility() && target.getBoundingClientRect().height < ${TARGET_PX - 0.5})
  .map((target) => target.outerHTML.slice(0, 120))`;
const TOO_WIDE = `document.documentElement.scrollWidth > document.documentElement.clientWidth
  ? [document.documentElement.scrollWidth + ' px wide']
  : []`;
const UNFOLD = `for (const details of document.querySelectorAll('details')) details.open = true`;

describe('every page', () => {
  let app: BrowserApp;
  let places: Place[];

  beforeAll(async () => {
    app = await startBrowserApp();
    places = await allPlaces(app);
  }, 180_000);

  afterAll(async () => {
    await app.close();
  });

  type Look = (page: Page) => Promise<string[]>;

  /** What is looked at on every page, in this order: loading it costs more than looking. */
  const looks: Readonly<Record<string, Look>> = {
    'one first-level heading and a title of its own': async (page) => {
      const count = await page.locator('h1').count();
      const title = await page.title();
      // A client's own pages bear the salon's name.
      return count === 1 && / · (Halfinch|Nape & Lantern)$/.test(title)
        ? []
        : [`${count} headings, title ${title}`];
    },
    'no axe finding in light': (page) => findings(page),
    'no axe finding of colours in dark': async (page) => {
      await page.emulateMedia({ colorScheme: 'dark' });
      const found = await findings(page, 'color-contrast', 'link-in-text-block');
      await page.emulateMedia({ colorScheme: 'light' });
      return found;
    },
    'no sideways scrolling, and targets big enough for a wet hand': async (page) => {
      const found: string[] = [];
      for (const [size, viewport] of Object.entries(SIZES)) {
        await page.setViewportSize(viewport);
        const lines = [
          ...(await page.evaluate<string[]>(TOO_WIDE)),
          ...(await page.evaluate<string[]>(SMALL_TARGETS)),
        ];
        found.push(...lines.map((line) => `${size}: ${line}`));
      }
      return found;
    },
    'no axe finding with everything folded out, on a phone': async (page) => {
      await page.setViewportSize(SIZES.phone);
      await page.evaluate(UNFOLD);
      return await findings(page);
    },
  };

  it('would be told what is wrong', async () => {
    const page = await app.visit();
    await page.goto('/sign-in');
    await page.evaluate(
      `document.querySelector('main').innerHTML = '<img src="x"><button>b</button><p>x</p>'`,
    );
    // Set from script: the page's own policy takes no styles from markup.
    await page.evaluate(`document.querySelector('main p').style.width = '3000px'`);
    expect((await findings(page)).join()).toContain('image-alt');
    expect(await page.evaluate<string[]>(TOO_WIDE)).toHaveLength(1);
    await page.evaluate(`document.querySelector('main button').style.minHeight = '1rem'`);
    expect(await page.evaluate<string[]>(SMALL_TARGETS)).toHaveLength(1);
    await page.context().close();
  });

  it.each([undefined, 'stylist', 'desk', 'owner'] as const)(
    'has them all for %s',
    async (role) => {
      const found: Record<string, string[]> = {};
      const page = await app.visit({ ...(role && { role }) });
      for (const place of places.filter((one) => one.role === role)) {
        await page.setViewportSize(SIZES.tablet);
        const answer = await page.goto(place.path);
        const lines = (answer?.status() ?? 0) < 500 ? [] : [`answered ${answer?.status()}`];
        for (const [what, look] of Object.entries(looks)) {
          lines.push(...(await look(page)).map((line) => `not "${what}": ${line}`));
        }
        if (lines.length > 0) found[place.name] = lines;
      }
      await page.context().close();
      expect(found).toEqual({});
    },
    300_000,
  );
});
