import { randomBytes } from 'node:crypto';
import { Injectable, type OnApplicationBootstrap, type OnModuleDestroy } from '@nestjs/common';
import { UnitOfWork } from '../store/index.js';
import { type BookNews, BookNewsCarrier } from './book-news.js';
import { BookWatch } from './book-watch.js';

/** News this far back can be told again one by one; who was away for longer is told to look at everything. */
const KEPT = 256;

const ANYWHERE = null;

/** News with the version of the book that it makes. */
export type LiveNews = Pick<BookNews, 'stretches'> & { readonly version: string };

/**
 * Lets pages follow the book. A version names a state of it within this process: "<process>.<count of changes>". A page
 * reads it before it reads the book, so that it may hear of a change that it shows already but never misses one.
 */
@Injectable()
export class LiveBook implements OnApplicationBootstrap, OnModuleDestroy {
  private readonly process = randomBytes(6).toString('hex');
  private count = 0;
  private readonly kept: (BookNews & { readonly count: number })[] = [];
  private readonly followers = new Set<{ salonId: string; hear: (news: LiveNews) => void }>();
  private readonly leave: () => void;

  constructor(
    private readonly units: UnitOfWork,
    private readonly carrier: BookNewsCarrier,
  ) {
    this.leave = carrier.subscribe((news) => this.heard(news));
  }

  async onApplicationBootstrap(): Promise<void> {
    await BookWatch.on(this.units, (news) => this.carrier.publish(news));
  }

  onModuleDestroy(): void {
    this.leave();
  }

  version(): string {
    return this.versionOf(this.count);
  }

  /**
   * Calls `hear` at every change of a salon's book, and at once when the follower is behind: `since` is the version it
   * last saw. One that this process never gave, or that is too long ago, stands for "look at everything". Returns what
   * ends it.
   */
  follow(salonId: string, since: string | undefined, hear: (news: LiveNews) => void): () => void {
    const follower = { salonId, hear };
    this.followers.add(follower);
    if (since !== undefined && since !== this.version()) {
      hear({ version: this.version(), stretches: this.missed(salonId, since) });
    }
    return () => this.followers.delete(follower);
  }

  private heard(news: BookNews): void {
    this.count += 1;
    this.kept.push({ ...news, count: this.count });
    if (this.kept.length > KEPT) this.kept.shift();
    for (const { salonId, hear } of this.followers) {
      if (concerns(news, salonId)) hear({ version: this.version(), stretches: news.stretches });
    }
  }

  private missed(salonId: string, since: string): BookNews['stretches'] {
    const count = Number(since.split('.')[1]);
    const isOurs = since === this.versionOf(count) && count >= 0 && count <= this.count;
    const oldest = this.kept[0]?.count ?? this.count + 1;
    if (!isOurs || count + 1 < oldest) return ANYWHERE;
    const missed = this.kept.filter((news) => news.count > count && concerns(news, salonId));
    return missed.some(({ stretches }) => stretches === ANYWHERE)
      ? ANYWHERE
      : missed.flatMap(({ stretches }) => stretches ?? []);
  }

  private versionOf(count: number): string {
    return `${this.process}.${count}`;
  }
}

function concerns(news: BookNews, salonId: string): boolean {
  return news.salonId === null || news.salonId === salonId;
}
