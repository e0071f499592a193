import { addDays, dateIn, dateInWords, dayBounds, timeIn } from '../base/index.js';
import { sixteenthBirthday } from './age.js';
import type { ColourQuestion, ColourRefusal } from './colour-question.js';
import { isReadClear, SKIN_TEST_WAIT_MS, type SkinTestRules, type TestFacts, validThrough } from './state.js';

const MINUTE_MS = 60_000;

/** What stands between a test and the colour, and the first instant that would do once it is put right. */
export type Shortfall = {
  readonly reason: ColourRefusal;
  readonly words: string;
  readonly firstAt: number | null;
};

export function momentInWords({ zone }: SkinTestRules, instant: number): string {
  return `${dateInWords(dateIn(zone, instant))}, ${timeIn(zone, instant)}`;
}

/** The soonest moment at which this client may be tested at all, on a full minute. */
function soonest({ now, birthday, rules }: ColourQuestion): number {
  const oldEnoughAt = birthday === null ? now : dayBounds(rules.zone, sixteenthBirthday(birthday)).startsAt;
  return Math.max(Math.ceil(now / MINUTE_MS) * MINUTE_MS, oldEnoughAt);
}

/** First instant that a test applied at the soonest moment would do; null when it would lapse before. */
export function firstWithNewTest(question: ColourQuestion): number | null {
  const { zone, validDays } = question.rules;
  const appliedAt = soonest(question);
  const firstAt = appliedAt + SKIN_TEST_WAIT_MS;
  return dateIn(zone, firstAt) <= addDays(dateIn(zone, appliedAt), validDays) ? firstAt : null;
}

export function newTestWords(question: ColourQuestion): string {
  const firstAt = firstWithNewTest(question);
  const applied = soonest(question) > question.now + MINUTE_MS ? 'on the 16th birthday' : 'now';
  return firstAt === null
    ? "Apply one by the maker's instructions."
    : `Apply one by the maker's instructions: applied ${applied} and read clear, it would do from ${momentInWords(question.rules, firstAt)}.`;
}

/** Why this test does not do for a colour at `question.at`; undefined when it does. */
export function shortfallOf(test: TestFacts, question: ColourQuestion): Shortfall | undefined {
  const { at, now, rules } = question;
  const through = validThrough(test, rules);
  const waitEndsAt = Math.ceil((test.appliedAt + SKIN_TEST_WAIT_MS) / MINUTE_MS) * MINUTE_MS;
  const couldDoFrom = Math.max(soonest(question), waitEndsAt);
  const canStillDo = dateIn(rules.zone, couldDoFrom) <= through;
  const isRead = isReadClear(test, now);
  const lapsesBefore = dateIn(rules.zone, at) > through;

  const name = `The skin test of ${test.productLine}, applied ${momentInWords(rules, test.appliedAt)},`;
  const remedy = canStillDo
    ? `${isRead ? 'It' : 'Read clear, it'} would do from ${momentInWords(rules, couldDoFrom)} through ${dateInWords(through)}.`
    : newTestWords(question);
  const short = (reason: ColourRefusal, words: string): Shortfall => ({
    reason,
    words: `${name} ${words} ${remedy}`,
    firstAt: canStillDo ? couldDoFrom : firstWithNewTest(question),
  });

  if (lapsesBefore && canStillDo)
    return short('LAPSES_BEFORE', 'no longer counts on the day of this colour.');
  if (lapsesBefore || (!isRead && !canStillDo)) {
    return short('LAPSED', `counted through ${dateInWords(through)}: it has lapsed.`);
  }
  if (!isRead) {
    return now - test.appliedAt < SKIN_TEST_WAIT_MS
      ? short('APPLIED', 'has not had its 48 hours yet.')
      : short('NOT_READ', 'has not been read: read it first.');
  }
  if (at - test.appliedAt < SKIN_TEST_WAIT_MS) {
    return short('TOO_SOON', 'had not had its 48 hours when this colour begins.');
  }
  return undefined;
}
