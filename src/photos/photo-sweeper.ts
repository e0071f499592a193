import { Injectable, Logger, type OnApplicationBootstrap, type OnApplicationShutdown } from '@nestjs/common';
import { Photos } from './photos.js';

const EVERY_MS = 60 * 60 * 1000;

/** Keeps files and rows in step: sweeps once at the start, for what a crash left, and then every hour. */
@Injectable()
export class PhotoSweeper implements OnApplicationBootstrap, OnApplicationShutdown {
  private readonly logger = new Logger('photos');
  private timer: NodeJS.Timeout | undefined;
  private sweeping: Promise<void> = Promise.resolve();

  constructor(private readonly photos: Photos) {}

  onApplicationBootstrap(): void {
    this.sweep();
    this.timer = setInterval(() => this.sweep(), EVERY_MS);
    this.timer.unref();
  }

  async onApplicationShutdown(): Promise<void> {
    clearInterval(this.timer);
    await this.sweeping;
  }

  private sweep(): void {
    this.sweeping = this.photos.sweep().then(
      (removed) => {
        if (removed > 0) this.logger.log(`Removed ${removed} files of photographs that no record knows.`);
      },
      (error: unknown) => this.logger.error(`Photographs could not be swept: ${String(error)}`),
    );
  }
}
