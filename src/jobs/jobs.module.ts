import { Module } from '@nestjs/common';
import { RemindersModule } from '../reminders/index.js';
import { EmbeddedDispatcher } from './embedded-dispatcher.js';

@Module({ imports: [RemindersModule], providers: [EmbeddedDispatcher] })
export class JobsModule {}
