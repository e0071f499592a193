import {
  type BeforeApplicationShutdown,
  Inject,
  Injectable,
  Logger,
  type OnApplicationBootstrap,
} from '@nestjs/common';
import { Forecasts } from '../reports/index.js';
import { Salon } from '../salon/index.js';
import { Reader, SETTINGS, type Settings } from '../store/index.js';

const EVERY_MS = 3_600_000;

/**
 * Makes the week's forecast once its Monday has come: looks soon after the start and then every hour. Any number of
 * processes may do it. A look that fails is logged and the next one comes all the same.
 */
@Injectable()
export class WeeklyForecast implements OnApplicationBootstrap, BeforeApplicationShutdown {
  private readonly log = new Logger('WeeklyForecast');
  private timer: NodeJS.Timeout | undefined;
  private stopped = false;
  private running: Promise<void> = Promise.resolve();

  constructor(
    private readonly forecasts: Forecasts,
    private readonly reader: Reader,
    @Inject(SETTINGS) private readonly settings: Settings,
  ) {}

  onApplicationBootstrap(): void {
    this.lookIn(this.settings.dispatchEveryMs);
  }

  /** Before the store closes, which waits for `onApplicationShutdown`. */
  async beforeApplicationShutdown(): Promise<void> {
    this.stopped = true;
    clearTimeout(this.timer);
    await this.running;
  }

  private lookIn(ms: number): void {
    if (this.stopped) return;
    this.timer = setTimeout(() => {
      this.running = this.look();
    }, ms);
  }

  private async look(): Promise<void> {
    try {
      for (const salon of await this.reader.manager.find(Salon)) await this.forecasts.keepUp(salon);
    } catch (error) {
      this.log.error('The forecast could not be made.', (error as Error).stack);
    }
    this.lookIn(EVERY_MS);
  }
}
