import { Module } from '@nestjs/common';
import { BookModule } from '../book/index.js';
import { ClientsModule } from '../clients/index.js';
import { CutsModule } from '../cuts/index.js';
import { RemindersModule } from '../reminders/index.js';
import { SalonModule } from '../salon/index.js';
import { SkinTestsModule } from '../skin-tests/index.js';
import { WebhooksModule } from '../webhooks/index.js';
import { ImportFiles } from './import-files.js';
import { ImportRunner } from './import-runner.js';
import { ImportSweeper } from './import-sweeper.js';
import { Imports } from './imports.js';
import { TakeAppointments } from './take-appointments.js';
import { TakeClients } from './take-clients.js';
import { TakeLengths } from './take-lengths.js';
import { TakeSkinTests } from './take-skin-tests.js';
import { TakeVisits } from './take-visits.js';
import { Takers } from './takers.js';

const TAKERS = [Takers, TakeClients, TakeVisits, TakeLengths, TakeSkinTests, TakeAppointments];

@Module({
  imports: [
    ClientsModule,
    SalonModule,
    SkinTestsModule,
    CutsModule,
    BookModule,
    RemindersModule,
    WebhooksModule,
  ],
  providers: [Imports, ImportRunner, ImportFiles, ImportSweeper, ...TAKERS],
  exports: [Imports],
})
export class ExchangeModule {}
