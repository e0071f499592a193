import { daysBetween } from '../base/index.js';
import type { FreeSlot } from './free-slots.js';

export type SlotWishes = {
  /** Day the client is due back; slots near it come first. */
  readonly nearDate?: string | undefined;
  readonly preferredStaffId?: string | undefined;
};

/**
 * Slots as they should be offered. With a due date: the preferred stylist first, then days nearest to it (the earlier
 * of two equally near), then starts that lose no time between appointments, then the earlier; and a second start in
 * the same half-day only after one of every other, for three starts in a row are no choice. Without a due date: by
 * time, the preferred stylist and the lesser loss deciding between equals.
 */
export function rankSlots(slots: readonly FreeSlot[], wishes: SlotWishes): FreeSlot[] {
  const { nearDate, preferredStaffId } = wishes;
  const stranger = (slot: FreeSlot) => (slot.staffId === preferredStaffId ? 0 : 1);
  const distances = new Map<string, number>();
  const distance = (slot: FreeSlot) => {
    const known = distances.get(slot.date);
    if (known !== undefined || nearDate === undefined) return known ?? 0;
    const days = Math.abs(daysBetween(nearDate, slot.date));
    distances.set(slot.date, days);
    return days;
  };
  const byName = (a: FreeSlot, b: FreeSlot) => (a.staffId < b.staffId ? -1 : a.staffId > b.staffId ? 1 : 0);
  const ranked = [...slots].sort(
    nearDate === undefined
      ? (a, b) =>
          a.startsAt - b.startsAt ||
          stranger(a) - stranger(b) ||
          a.lostMinutes - b.lostMinutes ||
          byName(a, b)
      : (a, b) =>
          stranger(a) - stranger(b) ||
          distance(a) - distance(b) ||
          (a.date < b.date ? -1 : a.date > b.date ? 1 : 0) ||
          a.lostMinutes - b.lostMinutes ||
          a.startsAt - b.startsAt ||
          byName(a, b),
  );
  if (nearDate === undefined) return ranked;
  const seen = new Set<string>();
  const rest: FreeSlot[] = [];
  const first = ranked.filter((slot) => {
    const halfDay = `${slot.date} ${slot.time < '12:00' ? 'morning' : 'afternoon'}`;
    if (seen.has(halfDay)) {
      rest.push(slot);
      return false;
    }
    seen.add(halfDay);
    return true;
  });
  return [...first, ...rest];
}

/** Why a slot is offered, in plain words: "2 days before it is due, with the stylist she prefers". */
export function whyOffered(slot: FreeSlot, wishes: SlotWishes): string {
  const reasons: string[] = [];
  if (wishes.nearDate !== undefined) reasons.push(nearness(daysBetween(wishes.nearDate, slot.date)));
  if (wishes.preferredStaffId !== undefined) {
    reasons.push(
      slot.staffId === wishes.preferredStaffId ? 'with the preferred stylist' : 'with another stylist',
    );
  }
  reasons.push(
    slot.lostMinutes === 0
      ? 'leaves no gap too short to book'
      : `leaves ${slot.lostMinutes} minutes too short to book`,
  );
  return reasons.join(', ');
}

function nearness(days: number): string {
  if (days === 0) return 'on the day it is due';
  const distance = Math.abs(days) === 1 ? '1 day' : `${Math.abs(days)} days`;
  return `${distance} ${days < 0 ? 'before' : 'after'} it is due`;
}
