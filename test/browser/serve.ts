import 'reflect-metadata';
import { plantDemo } from '../../seed/index.js';
import { AppModule } from '../../src/app.module.js';
import { FixedClock } from '../../src/base/index.js';
import { createServer } from '../../src/http/index.js';
import { readSettings, UnitOfWork } from '../../src/store/index.js';
import { issueGuestLinks } from './guest-links.js';

/** A process of its own with the demo's data and a clock that stands where the parent sets it. */
const settings = readSettings(process.env);
const clock = new FixedClock(Number(process.env['NOW_MS']));
const app = await createServer(AppModule.with(settings, clock), settings);
const planted = await plantDemo({ units: app.get(UnitOfWork, { strict: false }), now: clock.now() });
const guestLinks = await issueGuestLinks(app, clock.now());
await app.listen(0, '127.0.0.1');

process.on('message', (message: { readonly at: number }) => {
  clock.at = message.at;
  process.send?.({ at: clock.at });
});
process.on('disconnect', () => process.exit(0));
process.send?.({ base: await app.getUrl(), planted, guestLinks });
