import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { Temporal } from 'temporal-polyfill';
import { orderEvidence, readDate, readTime, timeBehind } from './read-date.js';

const two = (n: number) => String(n).padStart(2, '0');

describe('a date in a sheet', () => {
  it.each([
    ['1984-05-27', '1984-05-27'],
    ['19840527', '1984-05-27'],
    ['1984/5/27', '1984-05-27'],
    ['27/05/1984', '1984-05-27'],
    ['27.5.1984', '1984-05-27'],
    ['27-05-84', '1984-05-27'],
    ['27 May 1984', '1984-05-27'],
    ['Sun, 27 May 1984', '1984-05-27'],
    ['27th of May, 1984', '1984-05-27'],
    ['May 27, 1984', '1984-05-27'],
    ['27-May-84', '1984-05-27'],
    ['03/04/2026 14:30', '2026-04-03'],
    // RFC 3339, section 5.8
    ['1985-04-12T23:20:50.52Z', '1985-04-12'],
    ['1996-12-19T16:39:57-08:00', '1996-12-19'],
    ['05/05/2026', '2026-05-05'],
  ])('reads %s, the day first', (text, date) => {
    expect(readDate(text, 'day-first', 2026)).toBe(date);
  });

  it.each([
    '',
    'soon',
    '31/02/2026',
    '29.02.2025',
    '05/27/1984',
    '30828',
    '27/5',
    '2026-13-01',
    'Mayday 3, 2026',
  ])('takes %p for no date when the day comes first', (text) => {
    expect(readDate(text, 'day-first', 2026)).toBeUndefined();
  });

  it('is asked about only where the numbers can be read both ways', () => {
    expect(orderEvidence('27/05/1984')).toBe('day-first');
    expect(orderEvidence('05/27/1984')).toBe('month-first');
    expect(orderEvidence('03/04/1984')).toBe('either');
    expect(orderEvidence('04/04/1984')).toBeUndefined();
    expect(orderEvidence('1984-05-03')).toBeUndefined();
    expect(readDate('03/04/1984', undefined, 2026)).toBeUndefined();
    expect(readDate('27/04/1984', undefined, 2026)).toBe('1984-04-27');
  });

  it('takes two digits of a year for the latest such year', () => {
    expect(readDate('1/2/26', 'day-first', 2026)).toBe('2026-02-01');
    expect(readDate('1/2/27', 'day-first', 2026)).toBe('1927-02-01');
    expect(readDate('1/2/27', 'day-first', 2028)).toBe('2027-02-01');
  });

  // Against Temporal, which knows which dates there are.
  it('gives back every date however it was written', () => {
    const day = fc.integer({ min: -25_000, max: 20_000 });
    fc.assert(
      fc.property(day, fc.constantFrom('/', '.', '-'), fc.boolean(), (days, mark, padded) => {
        const date = Temporal.PlainDate.from('2000-01-01').add({ days });
        const part = padded ? two : String;
        const dayFirst = [part(date.day), part(date.month), date.year].join(mark);
        const monthFirst = [part(date.month), part(date.day), date.year].join(mark);
        expect(readDate(dayFirst, 'day-first', 2100)).toBe(date.toString());
        expect(readDate(monthFirst, 'month-first', 2100)).toBe(date.toString());
        const spoken = date.toLocaleString('en-GB', { day: 'numeric', month: 'long', year: 'numeric' });
        expect(readDate(spoken, undefined, 2100)).toBe(date.toString());
      }),
    );
  });
});

describe('a time in a sheet', () => {
  it.each([
    ['14:30', '14:30'],
    ['9:05', '09:05'],
    ['2:30 pm', '14:30'],
    ['2.30 p.m.', '14:30'],
    ['12 am', '00:00'],
    ['12:15 PM', '12:15'],
    ['14h30', '14:30'],
    ['14:30:59', '14:30'],
  ])('reads %s', (text, time) => {
    expect(readTime(text)).toBe(time);
  });

  it.each(['', '14', '25:00', '13 pm', '0:60', 'noon'])('takes %p for no time', (text) => {
    expect(readTime(text)).toBeUndefined();
  });

  it('is found behind a date', () => {
    expect(timeBehind('27/05/2026 2:30 pm')).toBe('14:30');
    expect(timeBehind('2026-05-27T14:30')).toBe('14:30');
    expect(timeBehind('2026-05-27')).toBeUndefined();
  });
});
