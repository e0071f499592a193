import { describe, expect, it } from '@jest/globals';
import { CAUTIONS } from './cautions.js';
import { skinTestState, type TestFacts, validThrough } from './state.js';

/*
 * States of a skin test in the words of the trade (common practice, no source); the 48 h from Cosmetics Europe
 * 2023. London's clocks go forward on 2026-03-29 at 01:00Z and back on 2026-10-25 at 01:00Z (IANA tzdata 2025b).
 */
const RULES = { validDays: 30, zone: 'Europe/London' };
const utc = (text: string) => Date.parse(`${text}Z`);

function test(
  appliedAt: string,
  result: TestFacts['result'] = null,
  readAt?: string,
  makerValidDays?: number,
): TestFacts {
  const read = readAt === undefined ? null : utc(readAt);
  return {
    productLine: 'Fernlight Cream 6',
    appliedAt: utc(appliedAt),
    result,
    readAt: read,
    readingRecordedAt: read,
    makerValidDays: makerValidDays ?? null,
  };
}

const UNREAD = test('2026-06-01T09:00');
const CLEAR = test('2026-06-01T09:00', 'clear', '2026-06-03T09:00');
const SPRING = test('2026-03-28T10:00');
const AUTUMN = test('2026-10-24T09:00');

describe('the state of a skin test', () => {
  it.each([
    ['just applied', UNREAD, '2026-06-01T09:00', 'applied'],
    ['a minute before 48 h', UNREAD, '2026-06-03T08:59', 'applied'],
    ['at 48 h', UNREAD, '2026-06-03T09:00', 'not-read'],
    ['spring: the same wall clock, 47 h', SPRING, '2026-03-30T09:00', 'applied'],
    ['spring: a minute before 48 h', SPRING, '2026-03-30T09:59', 'applied'],
    ['spring: at 48 h', SPRING, '2026-03-30T10:00', 'not-read'],
    ['autumn: a minute before 48 h, 08:59 on the wall', AUTUMN, '2026-10-26T08:59', 'applied'],
    ['autumn: at 48 h, 09:00 on the wall', AUTUMN, '2026-10-26T09:00', 'not-read'],
    ['read clear', CLEAR, '2026-06-03T09:00', 'clear'],
    ['before its reading was made', CLEAR, '2026-06-03T08:59', 'applied'],
    [
      'read clear too early',
      test('2026-06-01T09:00', 'clear', '2026-06-03T08:59'),
      '2026-06-04T09:00',
      'not-read',
    ],
    ['last minute of the last day, summer time', CLEAR, '2026-07-01T22:59', 'clear'],
    ['the minute after', CLEAR, '2026-07-01T23:00', 'lapsed'],
    ['unread past its days', UNREAD, '2026-07-01T23:00', 'lapsed'],
    ["past the maker's days", { ...CLEAR, makerValidDays: 7 }, '2026-06-08T23:00', 'lapsed'],
    ["within the maker's days", { ...CLEAR, makerValidDays: 7 }, '2026-06-08T22:59', 'clear'],
    [
      'reacted at once',
      test('2026-06-01T09:00', 'reacted', '2026-06-01T20:00'),
      '2026-06-01T20:00',
      'reacted',
    ],
    [
      'reacted, years later',
      test('2020-06-01T09:00', 'reacted', '2020-06-02T09:00'),
      '2026-06-01T09:00',
      'reacted',
    ],
  ] as const)('%s', (_name, facts, now, state) => {
    expect(skinTestState(facts, RULES, utc(now))).toBe(state);
  });

  it.each([
    // 30 September has 30 days: day 1 and 30 more. Applied at 00:30 on 2 June in London, still 1 June in UTC.
    ['a month', '2026-09-01T09:00', undefined, '2026-10-01'],
    ['over a change of clocks', '2026-10-10T09:00', undefined, '2026-11-09'],
    ["by the salon's calendar, not UTC's", '2026-06-01T23:30', undefined, '2026-07-02'],
    ["by the maker's fewer days", '2026-09-01T09:00', 10, '2026-09-11'],
    ["not by the maker's more days", '2026-09-01T09:00', 90, '2026-10-01'],
  ])('counts its last day %s', (_name, appliedAt, makerValidDays, lastDay) => {
    expect(validThrough(test(appliedAt, null, undefined, makerValidDays), RULES)).toBe(lastDay);
  });
});

describe('the cautions', () => {
  it('defer to the maker, deny a diagnosis, name day 3, and promise nothing', () => {
    const all = CAUTIONS.join(' ');
    for (const words of [
      /maker's instructions/,
      /local rules/,
      /licensed practice/,
      /not a diagnosis/,
      /day 3/,
      /medical advice/,
    ]) {
      expect(all).toMatch(words);
    }
    expect(all).not.toMatch(/\bsafe/i);
  });
});
