import { type FactoryProvider, Module } from '@nestjs/common';
import { Clock } from '../base/index.js';
import { sweepLinks } from '../book/index.js';
import { Metrics, MetricsModule } from '../http/index.js';
import { Dispatcher, RemindersModule, Upkeep } from '../reminders/index.js';
import { ReportsModule } from '../reports/index.js';
import {
  gatherStatistics,
  heedStatistics,
  Reader,
  RequestKeys,
  SETTINGS,
  type Settings,
  Turns,
  UnitOfWork,
} from '../store/index.js';
import { sweepDeliveries, WebhookDispatcher, WebhooksModule } from '../webhooks/index.js';
import { BackupSchedule } from './backup-schedule.js';
import { EmbeddedDispatcher } from './embedded-dispatcher.js';
import { MetricsServer } from './metrics-server.js';
import { DELIVERIES } from './queue-name.js';
import { Sweeps } from './sweeps.js';
import { WeeklyForecast } from './weekly-forecast.js';

/** Looks for what is owed: through Redis where there is one, else by sending it from within the process. */
function carrier(watchCommits: boolean): FactoryProvider {
  return {
    provide: 'message carrier',
    inject: [SETTINGS, Dispatcher, Upkeep, UnitOfWork, Reader, Clock],
    useFactory: async (
      settings: Settings,
      dispatcher: Dispatcher,
      upkeep: Upkeep,
      units: UnitOfWork,
      reader: Reader,
      clock: Clock,
    ) => {
      const { redisUrl, dispatchEveryMs: everyMs } = settings;
      if (redisUrl === undefined) return new EmbeddedDispatcher(dispatcher, upkeep, settings);
      // Whoever has no Redis does without what it takes to talk to it.
      const { MessageFeeder } = await import('./message-feeder.js');
      return new MessageFeeder({ redisUrl, everyMs, watchCommits }, upkeep, units, reader, clock);
    },
  };
}

/** What is owed to webhooks comes about by itself. */
const NO_UPKEEP = { nowAndThen: async () => undefined };

/** The same for what is owed to webhooks. */
function webhookCarrier(watchCommits: boolean): FactoryProvider {
  return {
    provide: 'webhook carrier',
    inject: [SETTINGS, WebhookDispatcher, UnitOfWork, Reader, Clock],
    useFactory: async (
      settings: Settings,
      dispatcher: WebhookDispatcher,
      units: UnitOfWork,
      reader: Reader,
      clock: Clock,
    ) => {
      const { redisUrl, dispatchEveryMs: everyMs } = settings;
      if (redisUrl === undefined) return new EmbeddedDispatcher(dispatcher, NO_UPKEEP, settings);
      const { MessageFeeder } = await import('./message-feeder.js');
      const options = { redisUrl, everyMs, watchCommits };
      return new MessageFeeder(options, NO_UPKEEP, units, reader, clock, DELIVERIES);
    },
  };
}

const WEBHOOK_WORKER: FactoryProvider = {
  provide: 'webhook worker',
  inject: [SETTINGS, WebhookDispatcher, Clock],
  useFactory: async ({ redisUrl }: Settings, dispatcher: WebhookDispatcher, clock: Clock) => {
    if (redisUrl === undefined) return null;
    const { MessageWorker } = await import('./message-worker.js');
    const { atOnce, leaseMs: lockMs } = dispatcher;
    return new MessageWorker({ redisUrl, atOnce, lockMs }, dispatcher, clock, DELIVERIES.queue);
  },
};

const WORKER: FactoryProvider = {
  provide: 'message worker',
  inject: [SETTINGS, Dispatcher, Clock],
  useFactory: async ({ redisUrl, sendWithinMs }: Settings, dispatcher: Dispatcher, clock: Clock) => {
    if (redisUrl === undefined) return null;
    const { MessageWorker } = await import('./message-worker.js');
    return new MessageWorker(
      { redisUrl, atOnce: dispatcher.atOnce, lockMs: sendWithinMs },
      dispatcher,
      clock,
    );
  },
};

const BACKUPS: FactoryProvider = {
  provide: BackupSchedule,
  inject: [SETTINGS, Turns, Clock],
  useFactory: (settings: Settings, turns: Turns, clock: Clock) => new BackupSchedule(settings, turns, clock),
};

const SWEEPS: FactoryProvider = {
  provide: Sweeps,
  inject: [RequestKeys, UnitOfWork, Reader, Turns, Clock],
  useFactory: (keys: RequestKeys, units: UnitOfWork, reader: Reader, turns: Turns, clock: Clock) =>
    new Sweeps(
      {
        'request-keys': () => keys.forget(),
        statistics: async () => {
          await units.run(gatherStatistics);
          await heedStatistics(reader.manager);
        },
        'private-links': () => sweepLinks(units, reader, clock.now()),
        'webhook-deliveries': () => sweepDeliveries(units, clock.now()),
      },
      turns,
    ),
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
  imports: [RemindersModule, ReportsModule, WebhooksModule, MetricsModule],
  providers: [carrier(true), webhookCarrier(true), WeeklyForecast, SWEEPS, BACKUPS, METRICS],
})
export class JobsModule {}

/** For worker processes, of which there may be any number. Without Redis one does as the web process does. */
@Module({
  imports: [RemindersModule, ReportsModule, WebhooksModule, MetricsModule],
  providers: [carrier(false), WORKER, webhookCarrier(false), WEBHOOK_WORKER, METRICS],
})
export class WorkerModule {}
