import { dateIn, dateInWords, timeIn } from '../base/index.js';
import type { Salon, Staff } from '../salon/index.js';
import { type SkinTestStanding, type StandingTest, sameProductLine } from '../skin-tests/index.js';
import { dayText, momentText, type Spoken } from './days.js';
import { NOTE_WORDS, testWords } from './safety-view.js';
import { optionsOf } from './words.js';

const STATE_NAMES = {
  applied: 'applied',
  clear: 'clear',
  reacted: 'reacted',
  'not-read': 'not read',
  lapsed: 'lapsed',
} as const;

export const NOTE_KINDS = optionsOf({
  'colour-reaction': 'a reaction to colouring',
  'black-henna-reaction': 'a reaction to a black-henna tattoo',
  'irritated-scalp': 'an irritated scalp, seen now',
});

export const RESULTS = optionsOf({
  clear: 'clear: nothing seen, nothing felt',
  reacted: 'reacted: anything at all',
});

/** What can still be written down for a test: its reading, a reaction that showed after a clear one, or nothing. */
function nextStep({ state, result }: StandingTest): string {
  if (result === 'reacted') return '';
  if (result === 'clear') return 'It reacted later';
  return state === 'applied' || state === 'not-read' ? 'Read it' : 'It reacted';
}

function sentence(words: string): string {
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}.`;
}

/** Where the wait and the least care come from; the days are the salon's. */
const SKIN_TEST_SOURCES =
  'Cosmetics Europe 2023 and the advice of the FDA (wait of two days); Regulation (EC) 1223/2009, Annex III (a reaction bars colour). How many days a test counts is the salon’s own rule (common practice, no source); the maker’s instructions, local rules and licensed practice stand above it.';

/** By what a test counts as long as it does. */
function validityText({ makerValidDays }: StandingTest, salon: Salon): string {
  const own = `${salon.skinTestValidDays} days by the salon`;
  const days =
    makerValidDays === null ? own : `${own} or ${makerValidDays} by the maker, whichever are fewer`;
  return `It counts once it is read clear, no sooner than 48 hours after it was applied, for this product line only, and from the day it was applied for ${days}. A reaction never lapses.`;
}

/** One skin test as its page and its reading show it. */
export function testView(test: StandingTest, salon: Salon, staff: readonly Staff[], spoken: Spoken) {
  const by = staff.find(({ id }) => id === test.appliedById)?.name;
  const moment = (instant: number) => momentText(instant, salon.zone, spoken);
  return {
    id: test.id,
    version: test.version,
    state: test.state,
    name: STATE_NAMES[test.state],
    productLine: test.productLine,
    place: test.place,
    words: sentence(testWords(test, test.state, salon, spoken)),
    applied: `${moment(test.appliedAt)}${by ? ` by ${by}` : ''}`,
    read: test.readAt === null ? '' : moment(test.readAt),
    readable: moment(test.readableFrom),
    through: dayText(test.validThrough, spoken),
    why: validityText(test, salon),
    makers: test.makerValidDays === null ? '' : `${test.makerValidDays} days by the maker`,
    seen: test.seen,
    next: nextStep(test),
    readOnce: test.result === 'clear',
    takenOver:
      typeof test.takenOverAt === 'number' ? dayText(dateIn(salon.zone, test.takenOverAt), spoken) : '',
  };
}

/** Everything on a client's record that bears on colour, in the words of a page. */
export function standingView(
  standing: SkinTestStanding,
  salon: Salon,
  staff: readonly Staff[],
  spoken: Spoken,
) {
  const date = (instant: number) => dayText(dateIn(salon.zone, instant), spoken);
  const notes = standing.notes.map(({ kind, told, notedAt, endedAt }) => ({
    words: endedAt === null ? NOTE_WORDS[kind] : 'An irritated scalp was on record.',
    told,
    when: `Noted ${date(notedAt)}${endedAt === null ? '' : `; settled ${date(endedAt)}`}.`,
    ended: endedAt !== null,
  }));
  return {
    bar: standing.bar,
    tests: standing.tests.map((test) => testView(test, salon, staff, spoken)),
    notes: notes.filter(({ ended }) => !ended),
    ended: notes.filter(({ ended }) => ended),
    irritated: standing.notes.some(({ kind, endedAt }) => kind === 'irritated-scalp' && endedAt === null),
    clearances: standing.clearances.map(({ documentedOn, issuedBy, says }) => ({
      words: `Document of ${dayText(documentedOn, spoken)} by ${issuedBy}.`,
      says,
    })),
    sources: SKIN_TEST_SOURCES,
    cautions: standing.cautions,
  };
}

/** Every product line on record once, newest first. */
export function testedLines(tests: readonly Pick<StandingTest, 'productLine'>[]): string[] {
  const lines: string[] = [];
  for (const { productLine } of tests) {
    if (!lines.some((line) => sameProductLine(line, productLine))) lines.push(productLine);
  }
  return lines;
}

/** What the gate answered, as a page says it. */
export type GateAnswer = {
  readonly refused: boolean;
  readonly words: string;
  /** "Saturday 16 May 2026, from 10:20", or empty when no date can be named. */
  readonly first: string;
  /** Cautions of this very answer; the general ones stand on every page that shows an answer. */
  readonly more: readonly string[];
};

/** The first moment that would do, for a page. */
export function firstText(firstAt: unknown, zone: string): string {
  if (typeof firstAt !== 'number') return '';
  return `${dateInWords(dateIn(zone, firstAt))}, from ${timeIn(zone, firstAt)}`;
}
