import type { Stretch } from '../salon/index.js';

/** That the book of a salon has changed; never whose appointment or how, so that hearing it tells nothing. */
export type BookNews = {
  /** Null where it is not known, and then perhaps every salon's. */
  readonly salonId: string | null;
  /** Stretches of time in which something is other than it was; null: perhaps anywhere. */
  readonly stretches: readonly Stretch[] | null;
};

/**
 * Carries news of committed changes from where they were made to every process that shows the book. Delivery may fail or
 * come twice: whoever hears looks at the book itself, and whoever reconnects looks anyway. An implementation between
 * processes publishes to one channel and hears its own publications through it like everybody else's.
 */
export abstract class BookNewsCarrier {
  /** Returns at once. */
  abstract publish(news: BookNews): void;
  /** Returns what ends the subscription. */
  abstract subscribe(hear: (news: BookNews) => void): () => void;
}

/** For the one process that both writes and shows. */
export class InProcessCarrier extends BookNewsCarrier {
  private readonly hearers = new Set<(news: BookNews) => void>();

  publish(news: BookNews): void {
    for (const hear of this.hearers) hear(news);
  }

  subscribe(hear: (news: BookNews) => void): () => void {
    this.hearers.add(hear);
    return () => this.hearers.delete(hear);
  }
}
