import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { findings } from './axe.js';
import { type BrowserApp, startBrowserApp } from './harness.js';
import { FIGURES_SHOWN, faultsAt, SMALL_TARGETS, TOO_WIDE } from './looks.js';
import { allPlaces, type Place } from './pages.js';

describe('every page', () => {
  let app: BrowserApp;
  let places: Place[];
  const figures = new Set<string>();

  beforeAll(async () => {
    app = await startBrowserApp();
    places = await allPlaces(app);
  }, 180_000);

  afterAll(async () => {
    await app.close();
  });

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
        const faults = await faultsAt(page, place.path);
        if (faults.length > 0) found[place.name] = faults;
        for (const figure of await page.evaluate<string[]>(FIGURES_SHOWN)) figures.add(figure);
      }
      await page.context().close();
      expect(found).toEqual({});
    },
    300_000,
  );

  it('shows each figure of the engine on some of them, so that its why was looked for', () => {
    expect([...figures].sort()).toEqual(['due', 'hold', 'length', 'plan', 'reshape', 'skin-test', 'window']);
  });
});
