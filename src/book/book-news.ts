import { Injectable } from '@nestjs/common';
import type { Stretch } from '../salon/index.js';
import { Shared } from '../store/index.js';

/** That the book of a salon has changed; never whose appointment or how, so that hearing it tells nothing. */
export type BookNews = {
  /** Null where it is not known, and then perhaps every salon's. */
  readonly salonId: string | null;
  /** Stretches of time in which something is other than it was; null: perhaps anywhere. */
  readonly stretches: readonly Stretch[] | null;
};

const CHANNEL = 'book';
const PERHAPS_ANYTHING: BookNews = { salonId: null, stretches: null };

/**
 * Carries news of committed changes from where they were made to every process that shows the book. Delivery may fail or
 * come twice: whoever hears looks at the book itself, and whoever reconnects looks anyway.
 */
@Injectable()
export class BookNewsCarrier {
  constructor(private readonly shared: Shared) {}

  /** Returns at once. */
  publish(news: BookNews): void {
    this.shared.publish(CHANNEL, JSON.stringify(news));
  }

  /** Returns what ends the subscription. */
  subscribe(hear: (news: BookNews) => void): () => void {
    return this.shared.subscribe(CHANNEL, (message) =>
      hear(message === undefined ? PERHAPS_ANYTHING : (JSON.parse(message) as BookNews)),
    );
  }
}
