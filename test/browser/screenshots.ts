import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { projectRoot } from '../../src/base/index.js';
import { startBrowserApp } from './harness.js';
import { allPlaces, type Place } from './pages.js';

/*
 * `npm run screenshots` takes every page of the demo, at a fixed moment, in three widths and both themes, into
 * var/screenshots, with an index.html beside them; `npm run screenshots -- card "next visit"` only those whose names
 * begin so.
 */

const WIDTHS = [390, 820, 1280] as const;
const SCHEMES = ['light', 'dark'] as const;
const HEIGHT_PX = 900;

const slugOf = (name: string) => name.toLowerCase().replace(/[^a-z0-9]+/g, '-');
const fileOf = (place: Place, width: number, scheme: string) =>
  `${slugOf(place.name)}-${width}-${scheme}.png`;

async function take(page: Page, place: Place, folder: string): Promise<void> {
  for (const width of WIDTHS) {
    await page.setViewportSize({ width, height: HEIGHT_PX });
    // Loaded anew: a page may be drawn otherwise by its width.
    await page.goto(place.path);
    for (const colorScheme of SCHEMES) {
      await page.emulateMedia({ colorScheme });
      await page.screenshot({ path: join(folder, fileOf(place, width, colorScheme)), fullPage: true });
    }
  }
}

function indexOf(places: readonly Place[]): string {
  const pictures = (place: Place) =>
    SCHEMES.flatMap((scheme) => WIDTHS.map((width) => fileOf(place, width, scheme)))
      .map((file) => `<a href="${file}"><img src="${file}" alt="${file}" loading="lazy"></a>`)
      .join('\n');
  const sections = places.map(
    (place) => `<h2>${place.name}${place.role ? ` (${place.role})` : ''}</h2>\n<p>${pictures(place)}</p>`,
  );
  return `<!doctype html>
<html lang="en">
<meta charset="utf-8">
<title>Halfinch: every page</title>
<style>
  body { font-family: sans-serif; }
  p { display: flex; gap: 0.5rem; align-items: start; overflow-x: auto; }
  img { height: 24rem; border: 1px solid gray; }
</style>
<h1>Every page</h1>
${sections.join('\n')}
</html>
`;
}

const folder = join(projectRoot(), 'var/screenshots');
await mkdir(folder, { recursive: true });
const scratch = await mkdtemp(join(tmpdir(), 'halfinch-screenshots-'));
process.env['HALFINCH_TEST_RUN'] = scratch;
const app = await startBrowserApp();
try {
  const asked = process.argv.slice(2);
  const places = (await allPlaces(app)).filter(
    ({ name }) => asked.length === 0 || asked.some((start) => name.startsWith(start)),
  );
  for (const role of [undefined, 'stylist', 'desk', 'owner'] as const) {
    const page = await app.visit({ ...(role && { role }) });
    for (const place of places.filter((one) => one.role === role)) {
      await take(page, place, folder);
      process.stdout.write(`${place.name}\n`);
    }
    await page.context().close();
  }
  if (asked.length === 0) await writeFile(join(folder, 'index.html'), indexOf(places));
} finally {
  await app.close();
  await rm(scratch, { recursive: true });
}
