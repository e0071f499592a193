import { Injectable } from '@nestjs/common';
import { addDays, DomainError, dateIn } from '../base/index.js';
import { Salons } from '../salon/index.js';
import type { Asked } from './claims.js';
import { type Slot, Slots } from './slots.js';

const MINUTE_MS = 60_000;

/** How many free slots a refusal names, and how many days on it looks for them. */
const NEXT_FREE = 3;
const NEXT_FREE_DAYS = 14;

/** How long a search may serve others though nothing was booked: the rota or another process may have changed things. */
const KEPT_MS = 500;

/**
 * Names the next free slots in refusals. A thousand rivals for one chair ask the same question at once, so an answer is
 * shared until the book changes.
 */
@Injectable()
export class NextFree {
  private readonly searches = new Map<string, { readonly since: number; readonly found: Promise<Slot[]> }>();

  constructor(
    private readonly salons: Salons,
    private readonly slots: Slots,
  ) {}

  /** The book has changed: earlier answers no longer count. */
  changed(): void {
    this.searches.clear();
  }

  /** Runs `work`, which changes the book; when what it wants is taken, the refusal names the next free slots. */
  async orNamed<T>(work: () => Promise<T>): Promise<T> {
    try {
      const result = await work();
      this.changed();
      return result;
    } catch (error) {
      if (!(error instanceof DomainError) || error.details['asked'] === undefined) throw error;
      const { asked, ...details } = error.details;
      const nextFree = await this.of(asked as Asked).catch((problem: unknown) => {
        // A kept service that went off the list cannot be searched for; the refusal stands without a proposal.
        if (problem instanceof DomainError) return [];
        throw problem;
      });
      throw new DomainError(error.kind, error.code, error.message, error.fields, { ...details, nextFree });
    }
  }

  /** From the start that was asked for on: with that stylist, or with anybody when she has none within a fortnight. */
  private async of(asked: Asked): Promise<Slot[]> {
    const later = (slots: Slot[]) =>
      slots.filter((slot) => slot.startsAt >= asked.startsAt).slice(0, NEXT_FREE);
    const own = later(await this.search(asked, asked.staffId));
    return own.length > 0 ? own : later(await this.search(asked));
  }

  private async search(asked: Asked, staffId?: string): Promise<Slot[]> {
    const { salonId, serviceId, alsoServiceIds, startsAt, endsAt } = asked;
    const day = Math.floor(startsAt / (24 * 60 * MINUTE_MS));
    const key = [serviceId, alsoServiceIds?.join('+'), staffId, day, endsAt - startsAt].join(' ');
    const earlier = this.searches.get(key);
    if (earlier && performance.now() - earlier.since < KEPT_MS) return await earlier.found;
    const found = this.salons.get(salonId).then(({ zone }) => {
      // The first instant of that day in UTC may still be the day before on the salon's wall clock.
      const fromDate = dateIn(zone, day * 24 * 60 * MINUTE_MS);
      return this.slots.find({
        salonId,
        serviceId,
        alsoServiceIds: alsoServiceIds ?? null,
        ...(staffId !== undefined && { staffId }),
        fromDate,
        toDate: addDays(fromDate, NEXT_FREE_DAYS + 1),
        minutes: (endsAt - startsAt) / MINUTE_MS,
        limit: 1000,
      });
    });
    this.searches.set(key, { since: performance.now(), found });
    return await found;
  }
}
