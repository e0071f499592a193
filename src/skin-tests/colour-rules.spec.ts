import { describe, expect, it } from '@jest/globals';
import {
  type Answer,
  answered,
  BASE,
  type Case,
  JUNE_1,
  LINE,
  OTHER,
  read,
  test,
  utc,
} from '../../test/factories/colour-cases.js';
import type { ColourQuestion } from './colour-question.js';

/*
 * The gate's table of cases. Sources of the rules:
 * - under 16, after any reaction, irritated scalp, black henna: Regulation (EC) 1223/2009, Annex III, label of
 *   oxidative hair dyes;
 * - 48 h between test and colour: Cosmetics Europe 2023 (through CTPA); FDA consumer advice, "two days";
 * - the very product line, the salon's validity, the maker's stricter one: common practice, no source.
 * Changes of clocks: IANA tzdata 2025b, Europe/London 2026-03-29 01:00Z and 2026-10-25 01:00Z,
 * America/New_York 2026-03-08 07:00Z, Australia/Sydney 2026-04-04 16:00Z. All instants below are written in UTC
 * and the expected local dates by hand.
 */

/** One test in each state as it is at BASE.now. */
const STATES = {
  'no test': [],
  applied: [test('2026-06-08T07:00')],
  'not read': [test('2026-06-05T09:00')],
  clear: [test('2026-06-01T09:00', read('clear', '2026-06-03T09:00'))],
  reacted: [test('2026-06-01T09:00', read('reacted', '2026-06-02T09:00'))],
  lapsed: [test('2025-11-01T09:00', read('clear', '2025-11-03T09:00'))],
};

/**
 * Age on the day of the colour, and the first date that a new test would do. The grown-up is tested on the
 * spot; the others on their 16th birthday at the earliest, and then wait 48 h.
 */
const AGES = [
  { age: 'grown up', birthday: '1984-05-27', newTest: '2026-06-10' },
  { age: '16 that day', birthday: '2010-06-10', newTest: '2026-06-12' },
  { age: '16 the day after', birthday: '2010-06-11', newTest: '2026-06-13' },
  { age: 'age unknown', birthday: null, newTest: null },
];
const PRODUCTS = { 'same line': LINE, 'other line': OTHER, 'line left open': undefined };

/** For a grown-up, in the order of PRODUCTS; 'test it' stands for the date of a new test. */
const GROWN_UP: Record<string, readonly (readonly [Answer, 'test it' | string | null])[]> = {
  'no test': [
    ['NO_TEST', 'test it'],
    ['NO_TEST', 'test it'],
    ['NO_TEST', 'test it'],
  ],
  applied: [
    ['APPLIED', '2026-06-10'],
    ['OTHER_PRODUCT_LINE', 'test it'],
    ['APPLIED', '2026-06-10'],
  ],
  'not read': [
    ['NOT_READ', '2026-06-08'],
    ['OTHER_PRODUCT_LINE', 'test it'],
    ['NOT_READ', '2026-06-08'],
  ],
  clear: [
    ['allowed', null],
    ['OTHER_PRODUCT_LINE', 'test it'],
    ['allowed', null],
  ],
  lapsed: [
    ['LAPSED', 'test it'],
    ['OTHER_PRODUCT_LINE', 'test it'],
    ['LAPSED', 'test it'],
  ],
};

function stateByAgeByProduct(): Case[] {
  return Object.entries(STATES).flatMap(([state, tests]) =>
    AGES.flatMap(({ age, birthday, newTest }) =>
      Object.entries(PRODUCTS).map(([product, productLine], column): Case => {
        const name = `${state}, ${age}, ${product}`;
        const asked = { tests, birthday, productLine };
        if (state === 'reacted') return [name, asked, 'REACTION', null];
        if (birthday === null) return [name, asked, 'BIRTHDAY_UNKNOWN', null];
        if (age === '16 the day after') return [name, asked, 'UNDER_16', newTest];
        // Whatever was applied before the 16th birthday does not count.
        if (age === '16 that day') return [name, asked, 'NO_TEST', newTest];
        const [answer, firstDate] = GROWN_UP[state]![column]!;
        return [name, asked, answer, firstDate === 'test it' ? newTest : firstDate];
      }),
    ),
  );
}

/** Applied, read clear the moment the wait is over, and a colour then; `wait` in minutes from applying. */
function colourAfter(zone: string, applied: string, waitMinutes: number): Partial<ColourQuestion> {
  const appliedAt = utc(applied);
  const readAt = appliedAt + 2880 * 60_000;
  const clear = test(applied, { result: 'clear', readAt, readingRecordedAt: readAt });
  const at = appliedAt + waitMinutes * 60_000;
  return { tests: [clear], at, now: Math.max(at, readAt), rules: { validDays: 180, zone } };
}

const H48 = 2880;
const FORTY_EIGHT_HOURS: Case[] = [
  ['48 h less a minute', colourAfter('Europe/London', '2026-06-01T09:00', H48 - 1), 'TOO_SOON', '2026-06-03'],
  ['48 h to the minute', colourAfter('Europe/London', '2026-06-01T09:00', H48), 'allowed', null],
  ['48 h and a minute', colourAfter('Europe/London', '2026-06-01T09:00', H48 + 1), 'allowed', null],
  // London, clocks forward on Sunday 29 March 2026: Saturday 10:00 to Monday 10:00 is 47 h.
  [
    'London spring, same wall clock two days on',
    colourAfter('Europe/London', '2026-03-28T10:00', 47 * 60),
    'TOO_SOON',
    '2026-03-30',
  ],
  [
    'London spring, 48 h less a minute',
    colourAfter('Europe/London', '2026-03-28T10:00', H48 - 1),
    'TOO_SOON',
    '2026-03-30',
  ],
  ['London spring, 48 h', colourAfter('Europe/London', '2026-03-28T10:00', H48), 'allowed', null],
  // Saturday 23:30 to 48 h later is Tuesday 00:30 by the clock on the wall.
  [
    'London spring, late evening',
    colourAfter('Europe/London', '2026-03-28T23:30', H48 - 1),
    'TOO_SOON',
    '2026-03-31',
  ],
  // London, clocks back on Sunday 25 October 2026: Saturday 10:00 to Monday 09:00 is 48 h.
  [
    'London autumn, 48 h less a minute',
    colourAfter('Europe/London', '2026-10-24T09:00', H48 - 1),
    'TOO_SOON',
    '2026-10-26',
  ],
  [
    'London autumn, 48 h, an hour early on the wall',
    colourAfter('Europe/London', '2026-10-24T09:00', H48),
    'allowed',
    null,
  ],
  [
    'New York spring, same wall clock two days on',
    colourAfter('America/New_York', '2026-03-07T15:00', 47 * 60),
    'TOO_SOON',
    '2026-03-09',
  ],
  ['New York spring, 48 h', colourAfter('America/New_York', '2026-03-07T15:00', H48), 'allowed', null],
  [
    'Sydney autumn, 48 h less a minute',
    colourAfter('Australia/Sydney', '2026-04-03T23:00', H48 - 1),
    'TOO_SOON',
    '2026-04-06',
  ],
  ['Sydney autumn, 48 h', colourAfter('Australia/Sydney', '2026-04-03T23:00', H48), 'allowed', null],
];

const WAITING: Case[] = [
  [
    'waiting, booked for 48 h to the minute',
    { tests: [test('2026-06-08T07:59')], at: utc('2026-06-10T07:59') },
    'APPLIED',
    '2026-06-10',
  ],
  ['unread, a minute before the 48 h', { tests: [test('2026-06-06T08:01')] }, 'APPLIED', '2026-06-08'],
  ['unread, at the 48 h', { tests: [test('2026-06-06T08:00')] }, 'NOT_READ', '2026-06-08'],
  [
    'read clear a minute before the 48 h: no reading',
    { tests: [test('2026-06-01T09:00', read('clear', '2026-06-03T08:59'))] },
    'NOT_READ',
    '2026-06-08',
  ],
  [
    'read clear later than now',
    { tests: [test('2026-06-05T09:00', read('clear', '2026-06-08T09:00'))] },
    'NOT_READ',
    '2026-06-08',
  ],
  ['to be applied later than now', { tests: [test('2026-06-08T08:01')] }, 'NO_TEST', '2026-06-10'],
];

const PRODUCT_NAMES: Case[] = [
  [
    'another spelling of the same name',
    { tests: [JUNE_1], productLine: ' fernlight  CREAM 6 ' },
    'allowed',
    null,
  ],
  [
    'a sign more is another line',
    { tests: [JUNE_1], productLine: 'Fernlight Cream 6+' },
    'OTHER_PRODUCT_LINE',
    '2026-06-10',
  ],
  [
    'a visit without a named line',
    { tests: [JUNE_1], productLine: undefined, now: BASE.at },
    'PRODUCT_LINE_UNKNOWN',
    null,
  ],
  [
    'an older good test beside a newer one that waits',
    { tests: [JUNE_1, test('2026-06-08T07:00')] },
    'allowed',
    null,
  ],
];

describe('the colour gate', () => {
  it.each([...stateByAgeByProduct(), ...FORTY_EIGHT_HOURS, ...WAITING, ...PRODUCT_NAMES])(
    '%s',
    (_name, asked, answer, firstDate) => {
      expect(answered(asked)).toEqual({ answer, firstDate });
    },
  );
});
