import { type BeforeApplicationShutdown, Logger, type OnApplicationBootstrap } from '@nestjs/common';
import type { Turns } from '../store/index.js';

const EVERY_MS = 3_600_000;

/** By the name of its turn: forgets what is of no use any more. */
export type Sweep = () => Promise<unknown>;

/**
 * Forgets what is of no use any more, at the start and then every hour; one process in its turn. A sweep that fails is
 * logged, stops no other, and comes again.
 */
export class Sweeps implements OnApplicationBootstrap, BeforeApplicationShutdown {
  private readonly log = new Logger('Sweeps');
  private timer: NodeJS.Timeout | undefined;
  private running: Promise<void> = Promise.resolve();

  constructor(
    private readonly sweeps: Readonly<Record<string, Sweep>>,
    private readonly turns: Pick<Turns, 'take'>,
  ) {}

  onApplicationBootstrap(): void {
    this.running = this.inTurn();
    this.timer = setInterval(() => {
      this.running = this.running.then(() => this.inTurn());
    }, EVERY_MS);
    this.timer.unref();
  }

  async beforeApplicationShutdown(): Promise<void> {
    clearInterval(this.timer);
    await this.running;
  }

  private async inTurn(): Promise<void> {
    for (const [name, sweep] of Object.entries(this.sweeps)) {
      try {
        if (await this.turns.take(name, EVERY_MS)) await sweep();
      } catch (error) {
        this.log.error(`The sweep of ${name} failed.`, (error as Error).stack);
      }
    }
  }
}
