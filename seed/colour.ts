import type { SkinTest } from '../src/skin-tests/index.js';
import type { Calendar, Day } from './calendar.js';
import type { Life } from './life.js';
import type { Rows } from './rows.js';

const HOUR_MS = 3_600_000;
const WAIT_HOURS = 48;
/** A day less than the salon lets a test count, so that the boundary is nobody's luck. */
const COUNTS_DAYS = 179;
/** A test with less left than this is done again at the next visit. */
const RENEW_AFTER_DAYS = 110;

/**
 * Applies a skin test, to be read after 48 hours and some; what is not due for reading by now stays unread.
 * `result` undefined: nobody ever came to have it read.
 */
export function applySkinTest(
  rows: Rows,
  calendar: Calendar,
  life: Life,
  appliedAt: number,
  result: 'clear' | 'reacted' | undefined = 'clear',
): SkinTest {
  const { dice } = life;
  const readAt = appliedAt + (WAIT_HOURS + dice.whole(1, 20)) * HOUR_MS;
  const isRead = result !== undefined && readAt <= calendar.now;
  const test: SkinTest = {
    id: dice.id(appliedAt),
    version: 1,
    clientId: life.client.id,
    productLine: life.colourLine ?? '',
    place: dice.pick(['inner elbow, left', 'inner elbow, right', 'behind the left ear']),
    appliedAt,
    appliedById: life.stylist.staff.id,
    readAt: isRead ? readAt : null,
    readingRecordedAt: isRead ? readAt : null,
    result: isRead ? result : null,
    seen: isRead ? (result === 'reacted' ? REACTION : 'Nothing to see, nothing felt.') : '',
    makerValidDays: null,
  };
  rows.skinTests.push(test);
  life.skinTests.push(test);
  return test;
}

const REACTION =
  'Red and itching where it was applied, from the first evening on. No colour. Told to see her doctor.';

/** Whether the salon would book a colour: a test read clear by the time of booking that still counts on the day. */
export function mayBookColour(
  calendar: Calendar,
  life: Life,
  bookedAt: number,
  day: Day,
  startsAt: number,
): boolean {
  if (life.skinTests.some(({ result }) => result === 'reacted')) return false;
  return life.skinTests.some(
    ({ result, readAt, appliedAt }) =>
      result === 'clear' &&
      readAt !== null &&
      readAt <= bookedAt &&
      startsAt >= appliedAt + WAIT_HOURS * HOUR_MS &&
      calendar.at(day, 0) <= appliedAt + COUNTS_DAYS * 24 * HOUR_MS,
  );
}

/** Whether a client who colours should have a new test at this visit. */
export function needsSkinTest(life: Life, at: number): boolean {
  if (life.colourLine === null || life.skinTests.some(({ result }) => result === 'reacted')) return false;
  const newest = Math.max(...life.skinTests.map(({ appliedAt }) => appliedAt));
  return at > newest + RENEW_AFTER_DAYS * 24 * HOUR_MS;
}
