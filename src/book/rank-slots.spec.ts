import { describe, expect, it } from '@jest/globals';
import type { FreeSlot } from './free-slots.js';
import { rankSlots, whyOffered } from './rank-slots.js';

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
  ])('%s losing %i minutes, wishes %j: %s', (date, lost, wishes, words) => {
    expect(whyOffered(slot(`m ${date} 10:00`, lost), wishes)).toBe(words);
  });
});
