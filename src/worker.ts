import 'reflect-metadata';
import { Logger, Module } from '@nestjs/common';
import { NestFactory } from '@nestjs/core';
import { MIGRATIONS } from '../migrations/index.js';
import { ENTITIES } from './entities.js';
import { joinAccountMail, RedactingLogger } from './http/index.js';
import { IdentityModule } from './identity/index.js';
import { WorkerModule } from './jobs/index.js';
import { readSettings, StoreModule } from './store/index.js';

const settings = readSettings(process.env);

@Module({
  imports: [
    StoreModule.with({ settings, entities: ENTITIES, migrations: MIGRATIONS }),
    IdentityModule,
    WorkerModule,
  ],
})
class MessageWorkerProcess {}

const app = await NestFactory.createApplicationContext(MessageWorkerProcess, {
  logger:
    settings.logLevel === 'silent'
      ? false
      : new RedactingLogger({ logLevels: ['log', 'warn', 'error'], json: settings.logAsJson }),
  abortOnError: false,
});
joinAccountMail(app, settings);
app.enableShutdownHooks();
new Logger('halfinch').log(
  settings.redisUrl === undefined
    ? 'This worker looks for messages in the database.'
    : 'This worker takes messages from Redis.',
);
