import { AsyncResource } from 'node:async_hooks';
import { type BeforeApplicationShutdown, Logger, type OnApplicationBootstrap } from '@nestjs/common';
import type { Clock } from '../base/index.js';
import type { Upkeep } from '../reminders/index.js';
import type { Reader, UnitOfWork } from '../store/index.js';
import { CommitWatch, type Touched } from './commit-watch.js';
import { MessageQueue } from './message-queue.js';
import { type Carried, MESSAGES } from './queue-name.js';

const SWEEP_EVERY_LOOKS = 5;
const SUSPICIOUS_EVERY_MS = 60_000;

export type FeederOptions = {
  readonly redisUrl: string;
  /** How long to wait between two looks, in milliseconds; a sweep comes every fifth. */
  readonly everyMs: number;
  /** Whether to queue what this process itself owes the moment it is committed. */
  readonly watchCommits: boolean;
};

/**
 * Keeps Redis fed with what the database owes: at once what this process commits, and by sweeps what others wrote,
 * what has drawn near, and what Redis lost. A commit never waits for Redis.
 */
export class MessageFeeder implements OnApplicationBootstrap, BeforeApplicationShutdown {
  private readonly log = new Logger('MessageFeeder');
  private readonly messages: MessageQueue;
  private timer: NodeJS.Timeout | undefined;
  private stopped = false;
  private running: Promise<void> | undefined;
  private again = false;
  private fresh: string[] = [];
  private sweepWanted = true;
  private looks = 0;
  private suspiciousAt = Number.NEGATIVE_INFINITY;

  constructor(
    private readonly options: FeederOptions,
    private readonly upkeep: Pick<Upkeep, 'nowAndThen'>,
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly carried: Carried = MESSAGES,
  ) {
    this.messages = new MessageQueue(options.redisUrl, carried);
  }

  async onApplicationBootstrap(): Promise<void> {
    // A commit is told of from inside its unit of work; what follows from it must not count as part of that.
    const onCommit = AsyncResource.bind((touched: Touched) => this.onCommit(touched));
    if (this.options.watchCommits) await CommitWatch.on(this.units, this.carried.entity, onCommit);
    this.look();
  }

  /** Before the store closes, which waits for `onApplicationShutdown`. */
  async beforeApplicationShutdown(): Promise<void> {
    this.stopped = true;
    clearTimeout(this.timer);
    // A feed that waits for a Redis which is away ends when its connection does.
    await this.messages.close();
    await this.running;
  }

  private onCommit({ ids, changed }: Touched): void {
    this.fresh.push(...ids);
    this.sweepWanted ||= changed;
    this.run();
  }

  private look(): void {
    if (this.stopped) return;
    this.looks += 1;
    this.sweepWanted ||= this.looks % SWEEP_EVERY_LOOKS === 0;
    this.run();
    this.timer = setTimeout(() => this.look(), this.options.everyMs);
  }

  /** One at a time: what comes meanwhile is taken along by the same run before it ends. */
  private run(): void {
    if (this.stopped) return;
    this.again = true;
    this.running ??= this.work();
  }

  private async work(): Promise<void> {
    try {
      while (this.again && !this.stopped) {
        this.again = false;
        await this.upkeep.nowAndThen();
        if (!this.stopped) await this.takeAlong();
      }
    } catch (error) {
      this.sweepWanted = true;
      if (!this.stopped) {
        this.log.error('Messages could not be queued; they stay owed.', (error as Error).stack);
      }
    } finally {
      // In one go with the last look at what has come, so that nothing comes in between.
      this.running = undefined;
    }
  }

  private async takeAlong(): Promise<void> {
    const fresh = this.fresh.splice(0);
    const sweep = this.sweepWanted;
    this.sweepWanted = false;
    if (fresh.length > 0) await this.messages.feed(this.reader.manager, fresh, this.clock.now());
    if (sweep) await this.sweep();
  }

  private async sweep(): Promise<void> {
    const now = this.clock.now();
    const isTime = now - this.suspiciousAt >= SUSPICIOUS_EVERY_MS;
    const suspicious = isTime && (await this.messages.takeTurn(SUSPICIOUS_EVERY_MS));
    await this.messages.sweep(this.reader.manager, now, suspicious);
    if (isTime) this.suspiciousAt = now;
  }
}
