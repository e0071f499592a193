import { weekdayOf } from '../base/index.js';
import type { Slot } from './slots.js';
import type { WaitingEntry } from './waiting-entities.js';

const MINUTE_MS = 60_000;

type Wish = Pick<WaitingEntry, 'staffId' | 'fromDate' | 'toDate' | 'weekdays' | 'timeFrom' | 'timeTo'>;

/** A start for one who waits, and how well it uses the freed time. */
export type Fit = {
  readonly slot: Slot;
  /** Minutes of the freed time it fills. */
  readonly filledMinutes: number;
};

/** Whether a time suits what a client who waits said; `endTime` is the wall clock's 'HH:MM' at its end. */
export function suits(wish: Wish, slot: Pick<Slot, 'staffId' | 'date' | 'time'>, endTime: string): boolean {
  return (
    (wish.staffId === null || wish.staffId === slot.staffId) &&
    wish.fromDate <= slot.date &&
    slot.date <= wish.toDate &&
    (wish.weekdays === null || wish.weekdays.includes(weekdayOf(slot.date))) &&
    (wish.timeFrom === null || wish.timeFrom <= slot.time) &&
    // A slot that ends past midnight ends at an earlier time than it starts.
    (wish.timeTo === null || (endTime > slot.time && endTime <= wish.timeTo))
  );
}

/** Of the free slots that touch the freed time, the one that fills most of it, the earlier of equals. */
export function bestFit(
  slots: readonly Slot[],
  freed: { readonly startsAt: number; readonly endsAt: number },
): Fit | undefined {
  let best: Fit | undefined;
  for (const slot of slots) {
    const filledMs = Math.min(slot.endsAt, freed.endsAt) - Math.max(slot.startsAt, freed.startsAt);
    const filledMinutes = filledMs / MINUTE_MS;
    if (filledMinutes <= 0) continue;
    const better =
      !best ||
      filledMinutes > best.filledMinutes ||
      (filledMinutes === best.filledMinutes && slot.startsAt < best.slot.startsAt);
    if (better) best = { slot, filledMinutes };
  }
  return best;
}
