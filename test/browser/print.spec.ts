import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { type BrowserApp, startBrowserApp } from './harness.js';

describe('the card on paper', () => {
  let app: BrowserApp;

  beforeAll(async () => {
    app = await startBrowserApp();
  }, 180_000);

  afterAll(async () => {
    await app.close();
  });

  // Page objects of ISO 32000-1, 7.7.3.3, each of /Type /Page.
  it.each(['A4', 'Letter'])(
    'fits one sheet of %s for every told client',
    async (format) => {
      const page = await app.visit({ role: 'stylist' });
      const sheets: Record<string, number> = {};
      for (const { key, clientId } of app.planted.stories) {
        await page.goto(`/clients/${clientId}`);
        const pdf = (await page.pdf({ format, preferCSSPageSize: false })).toString('latin1');
        sheets[key] = pdf.match(/\/Type\s*\/Page\b/g)?.length ?? 0;
      }
      expect(sheets).toEqual({
        'stacked-bob': 1,
        'long-backed-crop': 1,
        'growing-out': 1,
        'lapsed-skin-test': 1,
      });
      await page.context().close();
    },
    120_000,
  );

  it('keeps the safety line and the take-off, and leaves bars and buttons away', async () => {
    const page = await app.visit({ role: 'stylist' });
    await page.goto(`/clients/${app.planted.stories[0]?.clientId}`);
    await page.emulateMedia({ media: 'print' });
    expect(await page.locator('.safety').isVisible()).toBe(true);
    expect(await page.locator('.formula .take').first().isVisible()).toBe(true);
    expect(await page.locator('.bar').isVisible()).toBe(false);
    expect(await page.locator('.button:visible').count()).toBe(0);
    await page.context().close();
  });
});
