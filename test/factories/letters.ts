import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { PasswordLinks } from '../../src/identity/index.js';
import { SETTINGS, type Settings } from '../../src/store/index.js';

/** Letters about accounts that were written, oldest first. */
export async function letters(app: NestFastifyApplication): Promise<string[]> {
  const { outboxDir } = app.get<Settings>(SETTINGS, { strict: false });
  const files = (await readdir(outboxDir)).filter((name) => name.startsWith('account-')).sort();
  return await Promise.all(files.map((name) => readFile(join(outboxDir, name), 'utf8')));
}

/** The link in the letter that was written last. */
export async function newestLink(app: NestFastifyApplication): Promise<string> {
  const texts = await letters(app);
  const links = texts.map((text) => /link=3D([\w-]+(?:=\r?\n[\w-]+)*)|link=([\w-]+)/.exec(text));
  const stands = await Promise.all(
    links.map(async (found) => {
      const link = (found?.[1] ?? found?.[2] ?? '').replace(/=\r?\n/g, '');
      return (await app.get(PasswordLinks, { strict: false }).stands(link)) ? link : '';
    }),
  );
  return stands.filter(Boolean).at(-1) ?? '';
}
