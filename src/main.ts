import 'reflect-metadata';
import { Logger } from '@nestjs/common';
import { serveApiDescription } from './api/index.js';
import { AppModule } from './app.module.js';
import { createServer } from './http/index.js';
import { readSettings } from './store/index.js';

const settings = readSettings(process.env);
const app = await createServer(AppModule.with(settings), settings);
serveApiDescription(app);
await app.listen(settings.port, settings.host);
new Logger('halfinch').log(`Halfinch answers at ${settings.publicUrl}`);
