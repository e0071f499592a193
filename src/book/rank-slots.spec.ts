import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import type { FreeSlot } from './free-slots.js';
import { dayPartOf, rankSlots, whyOffered } from './rank-slots.js';

const HOUR = 3_600_000;

/** "mara 2026-06-09 10:00", and the minutes it would lose. */
function slot(text: string, lostMinutes = 0): FreeSlot {
  const [staffId, date, time] = text.split(' ') as [string, string, string];
  const startsAt = Date.parse(`${date}T${time}Z`);
  return { staffId, date, time, startsAt, endsAt: startsAt + HOUR, lostMinutes };
}
const name = ({ staffId, date, time }: FreeSlot) => `${staffId} ${date} ${time}`;
const ranked = (slots: FreeSlot[], wishes = {}) => rankSlots(slots, wishes).map(name);

describe('rankSlots', () => {
  it('goes by time, then the preferred stylist, when no day is due', () => {
    const slots = ['ilan 2026-06-09 10:00', 'mara 2026-06-09 10:00', 'mara 2026-06-09 09:00'].map((text) =>
      slot(text),
    );
    expect(ranked(slots, { preferredStaffId: 'mara' })).toEqual([
      'mara 2026-06-09 09:00',
      'mara 2026-06-09 10:00',
      'ilan 2026-06-09 10:00',
    ]);
  });

  it('goes by nearness to the due date, the earlier of two equally near first', () => {
    const slots = ['m 2026-06-07 10:00', 'm 2026-06-10 10:00', 'm 2026-06-08 10:00', 'm 2026-06-09 10:00'];
    expect(
      ranked(
        slots.map((text) => slot(text)),
        { nearDate: '2026-06-09' },
      ),
    ).toEqual(['m 2026-06-09 10:00', 'm 2026-06-08 10:00', 'm 2026-06-10 10:00', 'm 2026-06-07 10:00']);
  });

  it('puts the preferred stylist before a nearer day with another', () => {
    const slots = [slot('ilan 2026-06-09 10:00'), slot('mara 2026-06-12 10:00')];
    expect(ranked(slots, { nearDate: '2026-06-09', preferredStaffId: 'mara' })[0]).toBe(
      'mara 2026-06-12 10:00',
    );
  });

  it('prefers a start that loses no time among those of one day', () => {
    const slots = [slot('m 2026-06-09 09:15', 15), slot('m 2026-06-09 10:00'), slot('m 2026-06-09 11:00', 5)];
    expect(ranked(slots, { nearDate: '2026-06-09' })).toEqual([
      'm 2026-06-09 10:00',
      'm 2026-06-09 11:00',
      'm 2026-06-09 09:15',
    ]);
  });

  it('offers other half-days before a second start in one', () => {
    const slots = [
      'm 2026-06-09 09:00',
      'm 2026-06-09 09:15',
      'm 2026-06-09 13:30',
      'm 2026-06-10 09:00',
      'm 2026-06-10 09:15',
    ].map((text) => slot(text));
    expect(ranked(slots, { nearDate: '2026-06-09' })).toEqual([
      'm 2026-06-09 09:00',
      'm 2026-06-09 13:30',
      'm 2026-06-10 09:00',
      'm 2026-06-09 09:15',
      'm 2026-06-10 09:15',
    ]);
  });

  it('puts days inside the window first, then the preferred stylist, then liked times of day', () => {
    const slots = [
      'mara 2026-06-16 09:00',
      'ilan 2026-06-10 18:00',
      'mara 2026-06-08 12:00',
      'mara 2026-06-11 17:00',
    ].map((text) => slot(text));
    const wishes = {
      nearDate: '2026-06-09',
      windowFrom: '2026-06-08',
      windowTo: '2026-06-15',
      preferredStaffId: 'mara',
      dayParts: ['evening' as const],
    };
    expect(ranked(slots, wishes)).toEqual([
      'mara 2026-06-11 17:00',
      'mara 2026-06-08 12:00',
      'ilan 2026-06-10 18:00',
      'mara 2026-06-16 09:00',
    ]);
  });

  it('orders as comparing criterion after criterion does', () => {
    const some = fc
      .tuple(
        fc.constantFrom('ilan', 'mara'),
        fc.integer({ min: 1, max: 28 }),
        fc.integer({ min: 36, max: 80 }),
        fc.constantFrom(0, 5, 10, 700),
      )
      .map(([staffId, day, quarter, lost]) => {
        const time = new Date(quarter * 900_000).toISOString().slice(11, 16);
        return slot(`${staffId} 2026-06-${String(day).padStart(2, '0')} ${time}`, lost);
      });
    const wish = fc.record({
      nearDate: fc.constantFrom(undefined, '2026-06-10', '2028-06-10'),
      windowFrom: fc.constantFrom(undefined, '2026-06-05'),
      windowTo: fc.constantFrom(undefined, '2026-06-15'),
      preferredStaffId: fc.constantFrom(undefined, 'mara'),
      dayParts: fc.subarray(['morning' as const, 'afternoon' as const, 'evening' as const]),
    });
    const DAY = 24 * HOUR;
    fc.assert(
      fc.property(fc.array(some, { maxLength: 30 }), wish, (slots, wishes) => {
        const { nearDate, windowFrom, windowTo, preferredStaffId, dayParts } = wishes;
        const criteria = (s: FreeSlot): (number | string)[] => {
          const outside = (windowFrom && s.date < windowFrom) || (windowTo && s.date > windowTo) ? 1 : 0;
          const part = s.time < '12:00' ? 'morning' : s.time < '17:00' ? 'afternoon' : 'evening';
          const unlike = dayParts.length > 0 && !dayParts.includes(part) ? 1 : 0;
          const stranger = s.staffId === preferredStaffId ? 0 : 1;
          if (nearDate === undefined) {
            return [outside, unlike, s.startsAt, stranger, s.lostMinutes, s.staffId];
          }
          const away = (Date.parse(s.date) - Date.parse(nearDate)) / DAY;
          return [outside, stranger, unlike, Math.abs(away), s.date, s.lostMinutes, s.startsAt, s.staffId];
        };
        const slow = [...slots].sort((a, b) => {
          const [x, y] = [criteria(a), criteria(b)];
          const i = x.findIndex((value, k) => value !== y[k]);
          return i < 0 ? 0 : x[i]! < y[i]! ? -1 : 1;
        });
        const half = (s: FreeSlot) => `${s.date} ${s.time < '12:00'}`;
        const isFirst = (s: FreeSlot) => slow.find((other) => half(other) === half(s)) === s;
        const spread = [...slow.filter(isFirst), ...slow.filter((s) => !isFirst(s))];
        expect(ranked(slots, wishes)).toEqual((nearDate === undefined ? slow : spread).map(name));
      }),
    );
  });

  it('goes by who it is where nothing else decides, whatever their order', () => {
    const slots = ['ilan', 'mara', 'zoe'].map((who) => slot(`${who} 2026-06-09 10:00`));
    const names = slots.map(name);
    expect(ranked(slots)).toEqual(names);
    expect(ranked(slots.toReversed())).toEqual(names);
    expect(ranked([slots[1]!, slots[2]!, slots[0]!])).toEqual(names);
  });

  it('leaves its input as it was', () => {
    const slots = Object.freeze([slot('m 2026-06-10 09:00'), slot('m 2026-06-09 09:00')]);
    rankSlots(slots, { nearDate: '2026-06-09' });
    expect(slots.map(name)).toEqual(['m 2026-06-10 09:00', 'm 2026-06-09 09:00']);
  });
});

describe('whyOffered', () => {
  it.each([
    ['2026-06-09', 0, {}, 'leaves no gap too short to book'],
    ['2026-06-09', 25, {}, 'leaves 25 minutes too short to book'],
    ['2026-06-09', 0, { nearDate: '2026-06-09' }, 'on the day it is due, leaves no gap too short to book'],
    ['2026-06-08', 0, { nearDate: '2026-06-09' }, '1 day before it is due, leaves no gap too short to book'],
    [
      '2026-06-12',
      0,
      { nearDate: '2026-06-09', preferredStaffId: 'm' },
      '3 days after it is due, with the preferred stylist, leaves no gap too short to book',
    ],
    ['2026-06-09', 0, { preferredStaffId: 'other' }, 'with another stylist, leaves no gap too short to book'],
    [
      '2026-06-09',
      0,
      { windowFrom: '2026-06-09', windowTo: '2026-06-09' },
      'inside the window, leaves no gap too short to book',
    ],
    ['2026-06-09', 0, { windowFrom: '2026-06-10' }, 'outside the window, leaves no gap too short to book'],
    ['2026-06-09', 0, { windowTo: '2026-06-08' }, 'outside the window, leaves no gap too short to book'],
    [
      '2026-06-09',
      0,
      { dayParts: ['morning'] },
      'in the morning, as preferred, leaves no gap too short to book',
    ],
    [
      '2026-06-09',
      0,
      { dayParts: ['evening'] },
      'in the morning, though other times are preferred, leaves no gap too short to book',
    ],
    ['2026-06-09', 0, { dayParts: [] }, 'leaves no gap too short to book'],
  ] as const)('%s losing %i minutes, wishes %j: %s', (date, lost, wishes, words) => {
    expect(whyOffered(slot(`m ${date} 10:00`, lost), wishes)).toBe(words);
  });
});

describe('dayPartOf', () => {
  it.each([
    ['00:00', 'morning'],
    ['11:59', 'morning'],
    ['12:00', 'afternoon'],
    ['16:59', 'afternoon'],
    ['17:00', 'evening'],
  ])('%s is in the %s', (time, part) => {
    expect(dayPartOf(time)).toBe(part);
  });
});
