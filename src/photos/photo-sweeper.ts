import { Injectable, Logger, type OnApplicationBootstrap, type OnApplicationShutdown } from '@nestjs/common';
import { Turns } from '../store/index.js';
import { Photos } from './photos.js';

const EVERY_MS = 60 * 60 * 1000;

/** Keeps files and rows in step, for what a crash left: one process sweeps at the start and then every hour. */
@Injectable()
export class PhotoSweeper implements OnApplicationBootstrap, OnApplicationShutdown {
  private readonly logger = new Logger('photos');
  private timer: NodeJS.Timeout | undefined;
  private sweeping: Promise<void> = Promise.resolve();

  constructor(
    private readonly photos: Photos,
    private readonly turns: Turns,
  ) {}

  onApplicationBootstrap(): void {
    this.sweep();
    this.timer = setInterval(() => this.sweep(), EVERY_MS);
    this.timer.unref();
  }

  async onApplicationShutdown(): Promise<void> {
    clearInterval(this.timer);
    await this.sweeping;
  }

  private async inTurn(): Promise<number> {
    return (await this.turns.take('photo-sweep', EVERY_MS)) ? await this.photos.sweep() : 0;
  }

  private sweep(): void {
    this.sweeping = this.inTurn().then(
      (removed) => {
        if (removed > 0) this.logger.log(`Removed ${removed} files of photographs that no record knows.`);
      },
      (error: unknown) => this.logger.error(`Photographs could not be swept: ${String(error)}`),
    );
  }
}
