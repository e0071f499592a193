import type { Slot } from '../book/index.js';
import { dayText, type Spoken } from './days.js';

/** Free slots under their days, and under each day by stylist: every time is one press. */
export function slotDays(slots: readonly Slot[], spoken: Spoken) {
  const dates = [...new Set(slots.map(({ date }) => date))].sort();
  return dates.map((date) => {
    const ofDay = slots.filter((slot) => slot.date === date).sort((a, b) => a.startsAt - b.startsAt);
    const names = [...new Set(ofDay.map(({ staffName }) => staffName))].sort((a, b) => a.localeCompare(b));
    return {
      date,
      words: dayText(date, spoken),
      stylists: names.map((name) => ({ name, slots: ofDay.filter(({ staffName }) => staffName === name) })),
    };
  });
}

/** Free slots in the order they are offered, each with its day in words. */
export function offeredSlots(slots: readonly Slot[], spoken: Spoken) {
  return slots.map((slot) => ({ ...slot, words: dayText(slot.date, spoken) }));
}
