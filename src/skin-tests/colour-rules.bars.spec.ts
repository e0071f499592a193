import { describe, expect, it } from '@jest/globals';
import { answered, type Case, JUNE_1, OTHER, read, test, utc } from '../../test/factories/colour-cases.js';

/* How long a test counts, and what bars a colour whatever was tested. The sources stand in colour-rules.spec.ts. */

const on = (at: string, validDays = 180, zone = 'Europe/London') => ({
  at: utc(at),
  rules: { validDays, zone },
});

// 1 June and 180 days is 28 November 2026; London is on UTC then, an hour less than on the day of applying.
const VALIDITY: Case[] = [
  ['last minute of the last day', { tests: [JUNE_1], ...on('2026-11-28T23:59') }, 'allowed', null],
  [
    'first minute after the last day',
    { tests: [JUNE_1], ...on('2026-11-29T00:00') },
    'LAPSES_BEFORE',
    '2026-06-08',
  ],
  [
    'last minute of the last day in summer time',
    { tests: [JUNE_1], ...on('2026-07-01T22:59', 30) },
    'allowed',
    null,
  ],
  [
    'first minute after it in summer time',
    { tests: [JUNE_1], ...on('2026-07-01T23:00', 30) },
    'LAPSES_BEFORE',
    '2026-06-08',
  ],
  [
    'asked on the last day for the next',
    { tests: [JUNE_1], ...on('2026-07-02T09:00', 30), now: utc('2026-07-01T09:00') },
    'LAPSES_BEFORE',
    '2026-07-01',
  ],
  [
    'asked after the last day',
    { tests: [JUNE_1], ...on('2026-07-02T09:00', 30), now: utc('2026-07-02T08:00') },
    'LAPSED',
    '2026-07-04',
  ],
  [
    "the maker's 10 days, on the last",
    { tests: [{ ...JUNE_1, makerValidDays: 10 }], ...on('2026-06-11T09:00') },
    'allowed',
    null,
  ],
  [
    "the maker's 10 days, a day later",
    { tests: [{ ...JUNE_1, makerValidDays: 10 }], ...on('2026-06-12T09:00') },
    'LAPSES_BEFORE',
    '2026-06-08',
  ],
  [
    "the maker's longer rule does not stretch the salon's",
    { tests: [{ ...JUNE_1, makerValidDays: 90 }], ...on('2026-07-02T09:00', 30) },
    'LAPSES_BEFORE',
    '2026-06-08',
  ],
  [
    'a visit written up after its test lapsed',
    { tests: [JUNE_1], ...on('2026-07-01T09:00', 30), now: utc('2026-07-03T09:00') },
    'allowed',
    null,
  ],
];

const LATER_COLOUR = { at: utc('2026-07-10T10:00'), now: utc('2026-07-08T10:00') };
const REACTED = test('2026-06-01T09:00', read('reacted', '2026-06-02T09:00'));
const CLEAR_AFTER = test('2026-06-20T09:00', read('clear', '2026-06-22T09:00'));
const clearance = (documentedOn: string, recordedAt: string) => ({
  medicalClearances: [{ documentedOn, recordedAt: utc(recordedAt) }],
});

const BARS: Case[] = [
  [
    'reaction, then a clear test without clearance',
    { tests: [REACTED, CLEAR_AFTER], ...LATER_COLOUR },
    'REACTION',
    null,
  ],
  [
    'reaction to another line',
    { tests: [{ ...REACTED, productLine: OTHER }, CLEAR_AFTER], ...LATER_COLOUR },
    'REACTION',
    null,
  ],
  [
    'reaction years ago',
    { tests: [{ ...REACTED, ...read('reacted', '2019-02-02T09:00') }, CLEAR_AFTER], ...LATER_COLOUR },
    'REACTION',
    null,
  ],
  [
    'reaction, clearance, clear test',
    { tests: [REACTED, CLEAR_AFTER], ...LATER_COLOUR, ...clearance('2026-06-15', '2026-06-16T09:00') },
    'allowed',
    null,
  ],
  [
    'reaction, clearance, only the clear test from before',
    {
      tests: [test('2026-05-01T09:00', read('clear', '2026-05-03T09:00')), REACTED],
      ...LATER_COLOUR,
      ...clearance('2026-06-15', '2026-06-16T09:00'),
    },
    'NO_TEST',
    '2026-07-10',
  ],
  [
    'clearance older than the reaction',
    { tests: [REACTED, CLEAR_AFTER], ...LATER_COLOUR, ...clearance('2026-05-15', '2026-05-16T09:00') },
    'REACTION',
    null,
  ],
  [
    'clearance recorded later on an older document',
    { tests: [REACTED, CLEAR_AFTER], ...LATER_COLOUR, ...clearance('2026-06-01', '2026-06-16T09:00') },
    'REACTION',
    null,
  ],
  [
    'reaction written up after the clearance',
    {
      tests: [{ ...REACTED, readingRecordedAt: utc('2026-06-17T09:00') }, CLEAR_AFTER],
      ...LATER_COLOUR,
      ...clearance('2026-06-15', '2026-06-16T09:00'),
    },
    'REACTION',
    null,
  ],
  [
    'a second reaction after the clearance',
    {
      tests: [REACTED, { ...CLEAR_AFTER, ...read('reacted', '2026-06-23T09:00') }],
      ...LATER_COLOUR,
      ...clearance('2026-06-15', '2026-06-16T09:00'),
    },
    'REACTION',
    null,
  ],
  [
    'a reaction told by the client',
    { tests: [CLEAR_AFTER], ...LATER_COLOUR, colourReaction: { notedAt: utc('2026-06-10T09:00') } },
    'REACTION',
    null,
  ],
  [
    'black henna, no medical advice',
    { tests: [CLEAR_AFTER], ...LATER_COLOUR, blackHennaReaction: { notedAt: utc('2026-06-10T09:00') } },
    'BLACK_HENNA_REACTION',
    null,
  ],
  [
    'black henna, cleared before the test',
    {
      tests: [CLEAR_AFTER],
      ...LATER_COLOUR,
      blackHennaReaction: { notedAt: utc('2026-06-10T09:00') },
      ...clearance('2026-06-15', '2026-06-16T09:00'),
    },
    'allowed',
    null,
  ],
  [
    'irritated scalp, clear test',
    { tests: [CLEAR_AFTER], ...LATER_COLOUR, irritatedScalp: true },
    'IRRITATED_SCALP',
    null,
  ],
  [
    'irritated scalp, with a clearance',
    {
      tests: [CLEAR_AFTER],
      ...LATER_COLOUR,
      irritatedScalp: true,
      ...clearance('2026-06-15', '2026-06-16T09:00'),
    },
    'IRRITATED_SCALP',
    null,
  ],
];

const BIRTHDAYS: Case[] = [
  // 16 on 12 June: London's midnight is 23:00Z the evening before.
  [
    'a minute before the 16th birthday',
    { birthday: '2010-06-12', at: utc('2026-06-11T22:59') },
    'UNDER_16',
    '2026-06-14',
  ],
  [
    'first minute of the 16th birthday',
    { birthday: '2010-06-12', at: utc('2026-06-11T23:00') },
    'NO_TEST',
    '2026-06-14',
  ],
  [
    'tested a minute before the 16th birthday',
    {
      tests: [test('2026-06-11T22:59', read('clear', '2026-06-14T09:00'))],
      birthday: '2010-06-12',
      at: utc('2026-06-15T10:00'),
      now: utc('2026-06-14T10:00'),
    },
    'NO_TEST',
    '2026-06-16',
  ],
  [
    'tested in the first minute of the 16th birthday',
    {
      tests: [test('2026-06-11T23:00', read('clear', '2026-06-13T23:00'))],
      birthday: '2010-06-12',
      at: utc('2026-06-13T23:00'),
      now: utc('2026-06-13T23:00'),
    },
    'allowed',
    null,
  ],
  [
    'born on 29 February, 16 on 1 March 2100',
    { birthday: '2084-02-29', at: utc('2100-02-28T12:00'), now: utc('2100-02-27T12:00') },
    'UNDER_16',
    '2100-03-03',
  ],
  [
    'born on 29 February, 16 in a leap year',
    { birthday: '2012-02-29', at: utc('2028-02-28T12:00'), now: utc('2028-02-27T12:00') },
    'UNDER_16',
    '2028-03-02',
  ],
];

describe('the colour gate', () => {
  it.each([...VALIDITY, ...BARS, ...BIRTHDAYS])('%s', (_name, asked, answer, firstDate) => {
    expect(answered(asked)).toEqual({ answer, firstDate });
  });
});
