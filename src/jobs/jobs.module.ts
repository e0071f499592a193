import { type FactoryProvider, Module } from '@nestjs/common';
import { Clock } from '../base/index.js';
import { Metrics, MetricsModule } from '../http/index.js';
import { Dispatcher, RemindersModule, Upkeep } from '../reminders/index.js';
import { ReportsModule } from '../reports/index.js';
import { Reader, SETTINGS, type Settings, Turns, UnitOfWork } from '../store/index.js';
import { BackupSchedule } from './backup-schedule.js';
import { EmbeddedDispatcher } from './embedded-dispatcher.js';
import { MessageFeeder } from './message-feeder.js';
import { MessageWorker } from './message-worker.js';
import { MetricsServer } from './metrics-server.js';
import { WeeklyForecast } from './weekly-forecast.js';

/** Looks for what is owed: through Redis where there is one, else by sending it from within the process. */
function carrier(watchCommits: boolean): FactoryProvider {
  return {
    provide: 'message carrier',
    inject: [SETTINGS, Dispatcher, Upkeep, UnitOfWork, Reader, Clock],
    useFactory: (
      settings: Settings,
      dispatcher: Dispatcher,
      upkeep: Upkeep,
      units: UnitOfWork,
      reader: Reader,
      clock: Clock,
    ) => {
      const { redisUrl, dispatchEveryMs: everyMs } = settings;
      return redisUrl === undefined
        ? new EmbeddedDispatcher(dispatcher, upkeep, settings)
        : new MessageFeeder({ redisUrl, everyMs, watchCommits }, upkeep, units, reader, clock);
    },
  };
}

const WORKER: FactoryProvider = {
  provide: 'message worker',
  inject: [SETTINGS, Dispatcher, Clock],
  useFactory: ({ redisUrl, sendWithinMs }: Settings, dispatcher: Dispatcher, clock: Clock) =>
    redisUrl === undefined
      ? null
      : new MessageWorker({ redisUrl, atOnce: dispatcher.atOnce, lockMs: sendWithinMs }, dispatcher, clock),
};

const BACKUPS: FactoryProvider = {
  provide: BackupSchedule,
  inject: [SETTINGS, Turns, Clock],
  useFactory: (settings: Settings, turns: Turns, clock: Clock) => new BackupSchedule(settings, turns, clock),
};

const METRICS: FactoryProvider = {
  provide: MetricsServer,
  inject: [SETTINGS, Metrics, Reader, Clock],
  useFactory: (settings: Settings, metrics: Metrics, reader: Reader, clock: Clock) =>
    new MetricsServer(settings, metrics, reader, clock),
};

/**
 * With the figures, which say whom the owner leaves without nudges. For the web process: queues what it owes, or sends it
 * itself where there is no Redis; and makes the forecasts.
 */
@Module({
  imports: [RemindersModule, ReportsModule, MetricsModule],
  providers: [carrier(true), WeeklyForecast, BACKUPS, METRICS],
})
export class JobsModule {}

/** For worker processes, of which there may be any number. Without Redis one does as the web process does. */
@Module({
  imports: [RemindersModule, ReportsModule, MetricsModule],
  providers: [carrier(false), WORKER, METRICS],
})
export class WorkerModule {}
