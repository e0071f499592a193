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
/** What a first visit may cost on the line: page, styles and scripts, compressed as they are sent. */
const MOST_BYTES = 100 * 1024;
const FIRST_VISIT_BYTES = `[...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]
  .filter(({ entryType, initiatorType }) => entryType === 'navigation' || /^(link|script|css|other)$/.test(initiatorType))
  .reduce((sum, { encodedBodySize }) => sum + encodedBodySize, 0)`;
/** Figures of the engine that do not open why they are so. */
const FIGURES_WITHOUT_WHY = `[...document.querySelectorAll('main [data-figure]')]
  .filter((figure) => !figure.querySelector('details.why, details.hold, a.why'))
  .map((figure) => figure.outerHTML.slice(0, 120))`;
/** Chances, and ranges of lengths, that stand in a page outside all figures: one that was forgotten. */
const UNMARKED_FIGURES = `[...document.querySelectorAll('main *')]
  .flatMap((element) => [...element.childNodes].filter(({ nodeType }) => nodeType === 3))
  .filter(({ data }) => /\\d[–-]\\d[\\d.]* (cm|mm|in)\\b|\\d %/.test(data))
  .filter(({ parentElement }) => !parentElement.closest('[data-figure], details, form, svg, .terms, main:has(.figure)'))
  .map(({ data }) => data.trim().slice(0, 120))`;
const UNFOLD = `for (const details of document.querySelectorAll('details')) details.open = true`;

type Look = (page: Page) => Promise<string[]>;

/** By all rules in light, and of colours in dark. */
async function axeFindings(page: Page): Promise<string[]> {
  const light = await findings(page);
  await page.emulateMedia({ colorScheme: 'dark' });
  const dark = await findings(page, 'color-contrast', 'link-in-text-block');
  await page.emulateMedia({ colorScheme: 'light' });
  return [...light, ...dark.map((line) => `in dark: ${line}`)];
}

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
  'a why at each figure': async (page) => [
    ...(await page.evaluate<string[]>(FIGURES_WITHOUT_WHY)),
    ...(await page.evaluate<string[]>(UNMARKED_FIGURES)),
  ],
  'a light first visit': async (page) => {
    const bytes = await page.evaluate<number>(FIRST_VISIT_BYTES);
    return bytes > 0 && bytes <= MOST_BYTES ? [] : [`${bytes} bytes`];
  },
  // Some things are hidden at one size: each is looked at, as the page comes and with everything folded out.
  'no axe finding on a tablet': axeFindings,
  'no axe finding with everything folded out, on a phone': async (page) => {
    await page.setViewportSize(SIZES.phone);
    await page.evaluate(UNFOLD);
    return await axeFindings(page);
  },
  'no sideways scrolling, and targets big enough for a wet hand': async (page) => {
    const found: string[] = [];
    // 1280 px at 400 % (WCAG 2.2, success criterion 1.4.10), beyond the 200 % of 1.4.4.
    await page.setViewportSize({ width: 320, height: 256 });
    found.push(...(await page.evaluate<string[]>(TOO_WIDE)).map((line) => `at 400 %: ${line}`));
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
};

/** Kinds of the engine's figures that a page shows. */
export const FIGURES_SHOWN = `[...document.querySelectorAll('main [data-figure]')].map(({ dataset }) => dataset.figure)`;

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
