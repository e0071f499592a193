import { type BeforeApplicationShutdown, Logger, type OnApplicationBootstrap } from '@nestjs/common';
import type { Dispatcher, Upkeep } from '../reminders/index.js';
import type { Settings } from '../store/index.js';

/**
 * Sends what is owed from within the web process: looks every `settings.dispatchEveryMs` after the last look
 * ended, so that runs never overlap. A run that fails is logged and the next one comes all the same. Stopping
 * waits for the messages in hand and leaves the rest owed.
 */
export class EmbeddedDispatcher implements OnApplicationBootstrap, BeforeApplicationShutdown {
  private readonly log = new Logger('EmbeddedDispatcher');
  private readonly stopping = new AbortController();
  private timer: NodeJS.Timeout | undefined;
  private running: Promise<void> = Promise.resolve();

  constructor(
    private readonly dispatcher: Pick<Dispatcher, 'deliverDue'>,
    private readonly upkeep: Pick<Upkeep, 'nowAndThen'>,
    private readonly settings: Pick<Settings, 'dispatchEveryMs'>,
  ) {}

  onApplicationBootstrap(): void {
    this.start();
  }

  /** Before the store closes, which waits for `onApplicationShutdown`. */
  async beforeApplicationShutdown(): Promise<void> {
    await this.stop();
  }

  start(): void {
    if (this.timer !== undefined || this.stopping.signal.aborted) return;
    this.timer = setTimeout(() => {
      this.running = this.look();
    }, this.settings.dispatchEveryMs);
  }

  /** Resolves once nothing is in hand any more. Cannot be started again. */
  async stop(): Promise<void> {
    this.stopping.abort();
    clearTimeout(this.timer);
    await this.running;
  }

  private async look(): Promise<void> {
    try {
      await this.upkeep.nowAndThen();
      await this.dispatcher.deliverDue(undefined, this.stopping.signal);
    } catch (error) {
      this.log.error('Messages could not be sent; they stay owed.', (error as Error).stack);
    }
    this.timer = undefined;
    this.start();
  }
}
