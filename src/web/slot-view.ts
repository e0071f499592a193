import { dateInWords } from '../base/index.js';
import type { Slot } from '../book/index.js';

/** Free slots under their days, days and times in order. */
export function slotDays(slots: readonly Slot[], locale: string) {
  const dates = [...new Set(slots.map(({ date }) => date))].sort();
  return dates.map((date) => ({
    date,
    words: dateInWords(date, locale),
    slots: slots
      .filter((slot) => slot.date === date)
      .sort((a, b) => a.startsAt - b.startsAt || a.staffName.localeCompare(b.staffName)),
  }));
}

/** Free slots in the order they are offered, each with its day in words. */
export function offeredSlots(slots: readonly Slot[], locale: string) {
  return slots.map((slot) => ({ ...slot, words: dateInWords(slot.date, locale) }));
}
