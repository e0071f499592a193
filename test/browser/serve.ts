import 'reflect-metadata';
import { existsSync } from 'node:fs';
import { copyFile, mkdir, readFile, rename, writeFile } from 'node:fs/promises';
import { dirname } from 'node:path';
import { type Planted, plantDemo } from '../../seed/index.js';
import { AppModule } from '../../src/app.module.js';
import { FixedClock } from '../../src/base/index.js';
import { createServer } from '../../src/http/index.js';
import { Reader, readSettings, UnitOfWork } from '../../src/store/index.js';
import { issueGuestLinks } from './guest-links.js';

/*
 * A process of its own with the demo's data and a clock that stands where the parent sets it. Planting is dear: the
 * first process of a test run that plants for a moment leaves a copy at MODEL, from which the others start.
 */
const settings = readSettings(process.env);
const clock = new FixedClock(Number(process.env['NOW_MS']));
const model = `${process.env['MODEL']}-${clock.now()}`;
const known = existsSync(`${model}.json`);
if (known) {
  await mkdir(dirname(settings.database), { recursive: true });
  await copyFile(`${model}.sqlite`, settings.database);
}

const app = await createServer(AppModule.with(settings, clock), settings);
const planted: Planted = known
  ? JSON.parse(await readFile(`${model}.json`, 'utf8'))
  : await plantDemo({ units: app.get(UnitOfWork, { strict: false }), now: clock.now() });
if (!known) {
  const own = `${model}.${process.pid}`;
  await app.get(Reader, { strict: false }).manager.query(`VACUUM INTO '${own}.sqlite'`);
  await writeFile(`${own}.json`, JSON.stringify(planted));
  await rename(`${own}.sqlite`, `${model}.sqlite`);
  // Last, because it says that all is there.
  await rename(`${own}.json`, `${model}.json`);
}
const guestLinks = await issueGuestLinks(app, clock.now());
await app.listen(0, '127.0.0.1');

process.on('message', (message: { readonly at: number }) => {
  clock.at = message.at;
  process.send?.({ at: clock.at });
});
process.on('disconnect', () => process.exit(0));
process.send?.({ base: await app.getUrl(), planted, guestLinks });
