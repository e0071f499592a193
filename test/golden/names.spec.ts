import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from '@jest/globals';
import { startTestApp } from '../factories/app.js';
import { namesOf } from './names.js';

const FILE = fileURLToPath(new URL('./names.txt', import.meta.url));

it('every name is one that somebody has read against the words of the trade', async () => {
  const test = await startTestApp();
  const { routesServed } = test.app.getHttpAdapter().getInstance() as unknown as { routesServed: string[] };
  await test.close();
  const names = namesOf(routesServed.filter((route) => !route.startsWith('HEAD ')));
  // Regenerate with GOLDEN=write, then read what has changed.
  if (process.env['GOLDEN'] === 'write') writeFileSync(FILE, names);
  expect(names).toBe(readFileSync(FILE, 'utf8'));
}, 60_000);
