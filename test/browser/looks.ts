import type { Page } from 'playwright-core';
import { findings } from './axe.js';
import { SIZES } from './harness.js';

/** Smallest target of WCAG 2.2, success criterion 2.5.5, in CSS pixels. */
const TARGET_PX = 44;

/** What is pressed or typed into; links inside a line of text are exempt, as in 2.5.5. */
const TARGETS = 'button, .button, select, nav a, input:not([type=hidden])';

// Run in the page, hence as text: these sources are compiled without the browser's types.
// The label of a tick or a choice is pressed with it, and is its target.
export const SMALL_TARGETS = `[...document.querySelectorAll('${TARGETS}')]
  .map((target) => (/^(checkbox|radio)$/.test(target.type) && target.closest('label')) || target)
  .filter((target) => target.checkVisibility() && target.getBoundingClientRect().height < ${TARGET_PX - 0.5})
  .map((target) => target.outerHTML.slice(0, 120))`;
export const TOO_WIDE = `document.documentElement.scrollWidth > document.documentElement.clientWidth
  ? [document.documentElement.scrollWidth + ' px wide']
  : []`;
const UNFOLD = `for (const details of document.querySelectorAll('details')) details.open = true`;

const hasFolds = async (page: Page) => (await page.locator('details:not([open])').count()) > 0;

type Look = (page: Page) => Promise<string[]>;

/** What is looked at on every page, in this order: loading it costs more than looking. */
const LOOKS: Readonly<Record<string, Look>> = {
  'one first-level heading and a title of its own': async (page) => {
    const count = await page.locator('h1').count();
    const title = await page.title();
    // A client's own pages bear the salon's name.
    return count === 1 && / · (Halfinch|Nape & Lantern)$/.test(title)
      ? []
      : [`${count} headings, title ${title}`];
  },
  'no axe finding in light': async (page) => {
    // What folds is looked at on a phone too, folded out, at the end.
    if (!(await hasFolds(page))) await page.setViewportSize(SIZES.phone);
    return await findings(page);
  },
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
    if (!(await hasFolds(page))) return [];
    await page.setViewportSize(SIZES.phone);
    await page.evaluate(UNFOLD);
    return await findings(page);
  },
};

/** Opens an address and looks at everything that every page must be; a line for each thing that it is not. */
export async function faultsAt(page: Page, path: string): Promise<string[]> {
  await page.setViewportSize(SIZES.tablet);
  const answer = await page.goto(path);
  const faults = (answer?.status() ?? 0) < 500 ? [] : [`answered ${answer?.status()}`];
  for (const [what, look] of Object.entries(LOOKS)) {
    faults.push(...(await look(page)).map((line) => `not "${what}": ${line}`));
  }
  return faults;
}
