import { addDays, dateIn } from '../base/index.js';
import type { SkinTest } from './entities.js';

/**
 * Wait between applying a test and its reading, and so the colour: Cosmetics Europe 2023, FDA advice ("two
 * days"). Elapsed hours: over a change of clocks the wall clock reads an hour more or less.
 */
export const SKIN_TEST_WAIT_MS = 48 * 3_600_000;

export type SkinTestRules = {
  /** How many calendar days the salon lets a clear test count. */
  readonly validDays: number;
  /** IANA zone of the salon, in which days begin and end. */
  readonly zone: string;
};

export type TestFacts = Pick<
  SkinTest,
  'productLine' | 'appliedAt' | 'readAt' | 'readingRecordedAt' | 'result' | 'makerValidDays' | 'takenOverAt'
>;

export type SkinTestState = 'applied' | 'clear' | 'reacted' | 'not-read' | 'lapsed';

/**
 * Last calendar date on which the test counts. Counted from the day it was applied, not the day it was read,
 * because that is the earlier; by the salon's days or the maker's, whichever are fewer.
 */
export function validThrough(test: TestFacts, rules: SkinTestRules): string {
  const days = Math.min(rules.validDays, test.makerValidDays ?? Number.POSITIVE_INFINITY);
  return addDays(dateIn(rules.zone, test.appliedAt), days);
}

/** Whether the test was read clear by `now`, and not sooner than the wait allows. */
export function isReadClear(test: TestFacts, now: number): boolean {
  return (
    test.result === 'clear' &&
    test.readAt !== null &&
    test.readAt <= now &&
    test.readAt - test.appliedAt >= SKIN_TEST_WAIT_MS
  );
}

/**
 * What a test is worth at `now`. A reaction never lapses. A clear reading counts only when it was made by then
 * and no sooner than 48 h after applying; before the 48 h are up a test is 'applied', afterwards 'not-read'.
 */
export function skinTestState(test: TestFacts, rules: SkinTestRules, now: number): SkinTestState {
  if (test.result === 'reacted') return 'reacted';
  if (dateIn(rules.zone, now) > validThrough(test, rules)) return 'lapsed';
  if (isReadClear(test, now)) return 'clear';
  return now - test.appliedAt < SKIN_TEST_WAIT_MS ? 'applied' : 'not-read';
}
