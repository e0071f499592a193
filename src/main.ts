import 'reflect-metadata';
import { Logger } from '@nestjs/common';
import { serveApiDescription } from './api/index.js';
import { AppModule } from './app.module.js';
import { createServer } from './http/index.js';
import { FirstOwner } from './identity/index.js';
import { readSettings } from './store/index.js';

const settings = readSettings(process.env);
const app = await createServer(AppModule.with(settings), settings);
serveApiDescription(app);
await app.listen(settings.port, settings.host);
const log = new Logger('halfinch');
log.log(`Halfinch answers at ${settings.publicUrl}`);
const firstOwner = app.get(FirstOwner);
if (await firstOwner.isNeeded()) {
  log.log(
    `Nobody has an account yet. Open ${settings.publicUrl}/set-up; the set-up code is ${firstOwner.code}`,
  );
}
if (settings.healthKey === undefined && settings.keyFile.startsWith(settings.dataDir)) {
  log.warn(
    'The key of the health notes lies inside the data folder, so that a copy of the folder can be read by anybody. ' +
      'Move it and set HALFINCH_KEY_FILE (see README, "What the operator must do").',
  );
}
