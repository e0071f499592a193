import { existsSync } from 'node:fs';
import { type Browser, chromium } from 'playwright-core';

/** Debian's; without a window of its own Chromium opens pages with two thirds of the work. */
const INSTALLED = ['/usr/bin/chromium-headless-shell', '/usr/bin/chromium'];

/** The browser at CHROMIUM, else Debian's; throws where there is none. */
export async function launchBrowser(): Promise<Browser> {
  const executablePath = process.env['CHROMIUM'] ?? INSTALLED.find((path) => existsSync(path));
  if (!executablePath)
    throw new Error('There is no Chromium: run `sh .ci/packages`, or name one in CHROMIUM.');
  return await chromium.launch({
    executablePath,
    args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking'],
  });
}
