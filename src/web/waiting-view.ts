import { dateIn, timeIn } from '../base/index.js';
import type { WaitingEntry, WaitingLine, WaitingMatch, WaitingOffer } from '../book/index.js';
import { dayText, momentText, shortDay } from './days.js';
import type { Setting } from './front.js';
import { offeredSlots } from './slot-view.js';
import type { Option } from './words.js';

/** 3 January 2000 was a Monday. */
const A_MONDAY = Date.UTC(2000, 0, 3);
const DAY_MS = 86_400_000;

const OFFER_WORDS: Record<WaitingOffer['state'], string> = {
  open: 'no answer yet',
  accepted: 'accepted',
  gone: 'told that it is gone',
  declined: 'declined',
  withdrawn: 'withdrawn',
};

/** Monday to Sunday as the salon's language names them. */
export function weekdayOptions(locale: string, weekday: 'short' | 'long' = 'short'): Option[] {
  const format = new Intl.DateTimeFormat(locale, { weekday, timeZone: 'UTC' });
  return [1, 2, 3, 4, 5, 6, 7].map((day) => ({
    value: String(day),
    label: format.format(A_MONDAY + (day - 1) * DAY_MS),
  }));
}

/** "Tue 2 Jun to Fri 12 Jun, Mon or Tue, from 16:00, done by 19:00". */
export function whenText(entry: WaitingEntry, { spoken }: Setting): string {
  const { fromDate, toDate, weekdays, timeFrom, timeTo } = entry;
  const days =
    fromDate === toDate
      ? dayText(fromDate, spoken)
      : `${dayText(fromDate, spoken)} to ${dayText(toDate, spoken)}`;
  const names = weekdayOptions(spoken.locale);
  const on = weekdays?.map((day) => names[day - 1]?.label ?? '').join(' or ');
  return [days, on, timeFrom && `from ${timeFrom}`, timeTo && `done by ${timeTo}`].filter(Boolean).join(', ');
}

/** One who waits, as a line of the list. */
export function waitingRow({ entry, clientName, serviceName, staffName }: WaitingLine, setting: Setting) {
  const { salon, spoken } = setting;
  const query = new URLSearchParams({
    clientId: entry.clientId,
    serviceId: entry.serviceId,
    ...(entry.staffId && { staffId: entry.staffId }),
    date: entry.fromDate > setting.today ? entry.fromDate : setting.today,
  });
  return {
    id: entry.id,
    clientId: entry.clientId,
    name: clientName,
    what: `${serviceName} with ${staffName ?? 'anybody'}`,
    when: whenText(entry, setting),
    notes: entry.notes,
    since: shortDay(dateIn(salon.zone, entry.addedAt), spoken),
    query: query.toString(),
  };
}

/** One who could have a freed time. */
export function matchRow(match: WaitingMatch, number: string, setting: Setting) {
  const [slot] = offeredSlots([match.slot], setting.spoken);
  return {
    ...waitingRow(match, setting),
    entryId: match.entry.id,
    why: match.why,
    slot,
    until: timeIn(setting.salon.zone, match.slot.endsAt),
    number,
  };
}

/** To whom a time was offered, and what became of it. */
export function offerRow(offer: WaitingOffer, name: string, { salon, now, spoken }: Setting) {
  const { state, offeredAt, expiresAt } = offer;
  const over = state === 'open' && expiresAt <= now;
  return {
    id: offer.id,
    name,
    clientId: offer.clientId,
    words: over ? 'ran out' : OFFER_WORDS[state],
    sign: state === 'accepted' ? 'done' : state === 'open' && !over ? 'owed' : 'withdrawn',
    offered: momentText(offeredAt, salon.zone, spoken),
    stands: state === 'open' && !over ? `stands until ${momentText(expiresAt, salon.zone, spoken)}` : '',
  };
}

export type OfferRow = ReturnType<typeof offerRow>;
