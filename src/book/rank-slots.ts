import { daysBetween } from '../base/index.js';
import type { FreeSlot } from './free-slots.js';

/** Parts of the day in the salon's local time: before 12:00, before 17:00, and after. */
export const DAY_PARTS = ['morning', 'afternoon', 'evening'] as const;
export type DayPart = (typeof DAY_PARTS)[number];

export type SlotWishes = {
  /** Day the client is due back; slots near it come first. */
  readonly nearDate?: string | undefined;
  /** First and last day on which her shape wants it; slots outside come last. */
  readonly windowFrom?: string | undefined;
  readonly windowTo?: string | undefined;
  readonly preferredStaffId?: string | undefined;
  readonly dayParts?: readonly DayPart[] | undefined;
};

/** Weights that keep every earlier criterion above all later ones: days below 4,096 and minutes below 4,096. */
const MOST_DAYS = 4095;
const MOST_MINUTES = 4095;

/**
 * Slots as they should be offered. Those inside the window first. With a due date: then the preferred stylist, the
 * preferred parts of the day, days nearest to it (the earlier of two equally near), starts that lose no time between
 * appointments, and the earlier; and a second start in the same half-day only after one of every other, for three
 * starts in a row are no choice. Without a due date: the preferred parts of the day, then by time, the preferred
 * stylist and the lesser loss deciding between equals.
 */
export function rankSlots(slots: readonly FreeSlot[], wishes: SlotWishes): FreeSlot[] {
  const { nearDate, preferredStaffId } = wishes;
  const stranger = (slot: FreeSlot) => (slot.staffId === preferredStaffId ? 0 : 1);
  const lost = (slot: FreeSlot) => Math.min(slot.lostMinutes, MOST_MINUTES);
  const days = new Map<string, number>();
  /** Outside the window first of all, then the distance to the due date, an earlier day before a later one. */
  const ofDay = (date: string) => {
    let known = days.get(date);
    if (known === undefined) {
      const away = nearDate === undefined ? 0 : daysBetween(nearDate, date);
      const distance = 2 * Math.min(Math.abs(away), MOST_DAYS) + (away > 0 ? 1 : 0);
      known = (isInside(date, wishes) ? 0 : 4 * 2 * (MOST_DAYS + 1)) + distance;
      days.set(date, known);
    }
    return known;
  };
  const keyed = slots.map((slot) => {
    const outsideAndDistance = ofDay(slot.date);
    const unlike = isLiked(slot.time, wishes) ? 0 : 1;
    if (nearDate === undefined) return { slot, key: outsideAndDistance + unlike };
    const rank = outsideAndDistance + 2 * (MOST_DAYS + 1) * (2 * stranger(slot) + unlike);
    return { slot, key: rank * (MOST_MINUTES + 1) + lost(slot) };
  });
  const byName = (a: FreeSlot, b: FreeSlot) => (a.staffId < b.staffId ? -1 : a.staffId > b.staffId ? 1 : 0);
  keyed.sort(
    (a, b) =>
      a.key - b.key ||
      a.slot.startsAt - b.slot.startsAt ||
      stranger(a.slot) - stranger(b.slot) ||
      a.slot.lostMinutes - b.slot.lostMinutes ||
      byName(a.slot, b.slot),
  );
  const ranked = keyed.map(({ slot }) => slot);
  return nearDate === undefined ? ranked : spread(ranked);
}

/** The first of every half-day before any second. */
function spread(ranked: readonly FreeSlot[]): FreeSlot[] {
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

/** Part of the day of a wall-clock time 'HH:MM'. */
export function dayPartOf(time: string): DayPart {
  return time < '12:00' ? 'morning' : time < '17:00' ? 'afternoon' : 'evening';
}

function isLiked(time: string, { dayParts }: SlotWishes): boolean {
  return !dayParts || dayParts.length === 0 || dayParts.includes(dayPartOf(time));
}

function isInside(date: string, { windowFrom, windowTo }: SlotWishes): boolean {
  return (windowFrom === undefined || windowFrom <= date) && (windowTo === undefined || date <= windowTo);
}

/** Why a slot is offered, in plain words: "2 days before it is due, with the preferred stylist". */
export function whyOffered(slot: FreeSlot, wishes: SlotWishes): string {
  const reasons: string[] = [];
  if (wishes.windowFrom !== undefined || wishes.windowTo !== undefined) {
    reasons.push(isInside(slot.date, wishes) ? 'inside the window' : 'outside the window');
  }
  if (wishes.nearDate !== undefined) reasons.push(nearness(daysBetween(wishes.nearDate, slot.date)));
  if (wishes.preferredStaffId !== undefined) {
    reasons.push(
      slot.staffId === wishes.preferredStaffId ? 'with the preferred stylist' : 'with another stylist',
    );
  }
  if (wishes.dayParts && wishes.dayParts.length > 0) {
    const liked = isLiked(slot.time, wishes) ? 'as preferred' : 'though other times are preferred';
    reasons.push(`in the ${dayPartOf(slot.time)}, ${liked}`);
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
