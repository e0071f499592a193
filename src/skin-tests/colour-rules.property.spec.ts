import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { Temporal } from 'temporal-polyfill';
import type { ColourQuestion } from './colour-question.js';
import { colourGate } from './colour-rules.js';
import type { TestFacts } from './state.js';

const HOUR = 3_600_000;
const FROM = Date.parse('2026-01-01T00:00Z');
const TO = Date.parse('2027-01-01T00:00Z');
const LINES = ['Fernlight Cream 6', 'Fernlight Oil 6'];

/** A minute of one year, changes of clocks included. */
const instant = fc.integer({ min: FROM / 60_000, max: TO / 60_000 }).map((minute) => minute * 60_000);
/** How long before `now`, in whole minutes up to 90 days. */
const ago = fc.integer({ min: 0, max: 90 * 24 * 60 }).map((minutes) => minutes * 60_000);
const seldom = <T>(usual: T, arbitrary: fc.Arbitrary<T>) =>
  fc.oneof({ weight: 3, arbitrary: fc.constant(usual) }, { weight: 1, arbitrary });

const skinTest = fc.record({
  productLine: fc.constantFrom(...LINES),
  ago,
  waitMinutes: fc.oneof(fc.constant(48 * 60), fc.integer({ min: 47 * 60, max: 72 * 60 })),
  result: seldom<TestFacts['result']>('clear', fc.constantFrom(null, 'reacted')),
  makerValidDays: seldom<number | null>(null, fc.integer({ min: 2, max: 60 })),
});

const question: fc.Arbitrary<ColourQuestion> = fc
  .record({
    tests: fc.array(skinTest, { maxLength: 4 }),
    birthday: seldom<string | null>(
      '1984-05-27',
      fc.constantFrom('2010-01-01', '2010-06-15', '2012-02-29', null),
    ),
    ahead: fc.integer({ min: -2 * 24 * 60, max: 60 * 24 * 60 }),
    now: instant,
    productLine: fc.constantFrom(...LINES, undefined),
    zone: fc.constantFrom('Europe/London', 'America/New_York', 'Australia/Sydney'),
    validDays: fc.integer({ min: 2, max: 180 }),
    clearedAgo: seldom<number[]>([], fc.array(ago, { minLength: 1, maxLength: 2 })),
    irritatedScalp: seldom<boolean>(false, fc.constant(true)),
    hennaAgo: seldom<number | null>(null, ago),
    reactionAgo: seldom<number | null>(null, ago),
  })
  .map(({ tests, ahead, now, zone, validDays, clearedAgo, hennaAgo, reactionAgo, ...asked }) => ({
    ...asked,
    now,
    at: now + ahead * 60_000,
    rules: { zone, validDays },
    tests: tests.map(({ ago: before, waitMinutes, ...test }): TestFacts => {
      const appliedAt = now - before;
      const readAt = test.result === null ? null : appliedAt + waitMinutes * 60_000;
      return { ...test, appliedAt, readAt, readingRecordedAt: readAt };
    }),
    medicalClearances: clearedAgo.map((before) => ({
      recordedAt: now - before,
      documentedOn: localDate('UTC', now - before - 24 * HOUR),
    })),
    blackHennaReaction: hennaAgo === null ? null : { notedAt: now - hennaAgo },
    colourReaction: reactionAgo === null ? null : { notedAt: now - reactionAgo },
  }));

function localDate(zone: string, at: number): string {
  return Temporal.Instant.fromEpochMilliseconds(at).toZonedDateTimeISO(zone).toPlainDate().toString();
}

/** Whole years of age on a date, by Temporal's calendar arithmetic and so not by the gate's own. */
function ageOn(birthday: string, date: string): number {
  return Temporal.PlainDate.from(birthday).until(date, { largestUnit: 'years' }).years;
}

/** Each reason for which no colour may be allowed, written without the gate's own functions. */
function bars(asked: ColourQuestion): string[] {
  const { tests, birthday, at, now, productLine, rules } = asked;
  const cleared = (recordedAt: number, happenedOn?: string) =>
    asked.medicalClearances.some(
      (clearance) =>
        clearance.recordedAt > recordedAt && (!happenedOn || clearance.documentedOn >= happenedOn),
    );
  const reacted = tests.filter((test) => test.result === 'reacted');
  const notes = [asked.blackHennaReaction, asked.colourReaction].filter((note) => note !== null);
  const lastReaction = Math.max(
    0,
    ...reacted.map((test) => test.readAt!),
    ...notes.map((note) => note.notedAt),
  );
  const fitting = tests.filter(
    (test) =>
      test.result === 'clear' &&
      (productLine === undefined || test.productLine === productLine) &&
      test.readAt! <= now &&
      test.readAt! - test.appliedAt >= 48 * HOUR &&
      at - test.appliedAt >= 48 * HOUR &&
      test.appliedAt > lastReaction,
  );
  const counting = fitting.filter((test) => {
    const days = Temporal.PlainDate.from(localDate(rules.zone, test.appliedAt)).until(
      localDate(rules.zone, at),
    ).days;
    return days <= rules.validDays && days <= (test.makerValidDays ?? 10_000);
  });
  return [
    ...(birthday === null ? ['age unknown'] : []),
    ...(birthday !== null && ageOn(birthday, localDate(rules.zone, at)) < 16 ? ['under 16'] : []),
    ...(asked.irritatedScalp ? ['irritated scalp'] : []),
    ...(reacted.some((test) => !cleared(test.readAt!, localDate(rules.zone, test.readAt!)))
      ? ['reaction']
      : []),
    ...(notes.some((note) => !cleared(note.notedAt)) ? ['reaction told'] : []),
    ...(productLine === undefined && at <= now ? ['no product line'] : []),
    ...(counting.length === 0 ? ['no test that counts'] : []),
  ];
}

describe('the colour gate, over all combinations', () => {
  it('never allows a colour with any bar standing', () => {
    let allowed = 0;
    fc.assert(
      fc.property(question, (asked) => {
        const verdict = colourGate(asked);
        if (verdict.allowed) {
          allowed += 1;
          expect(bars(asked)).toEqual([]);
          expect(verdict.cautions.length).toBeGreaterThan(1);
        }
      }),
      { numRuns: 3_000, seed: 20_260_601 },
    );
    // Without some that are allowed the property would say nothing.
    expect(allowed).toBeGreaterThan(100);
  });

  it('refuses with words, and names a first date that does do once its words are followed', () => {
    let promised = 0;
    fc.assert(
      fc.property(question, (asked) => {
        const verdict = colourGate(asked);
        if (verdict.allowed) return;
        expect(verdict.words).toMatch(/\w\.$/);
        expect(verdict.words).not.toMatch(/undefined|null|NaN|\bsafe\b/i);
        const { firstAt } = verdict;
        if (firstAt === null) return;
        promised += 1;
        expect(verdict.firstDateThatWouldDo).toBe(localDate(asked.rules.zone, firstAt));
        // Read what waits, and apply what is missing 48 h before; then stand at that moment.
        const line = asked.productLine ?? LINES[0]!;
        const readAt = firstAt;
        const followed = asked.tests.map(
          (test): TestFacts =>
            test.result === 'reacted'
              ? test
              : { ...test, result: 'clear', readAt, readingRecordedAt: readAt },
        );
        const fresh: TestFacts = {
          productLine: line,
          appliedAt: firstAt - 48 * HOUR,
          result: 'clear',
          readAt,
          readingRecordedAt: readAt,
          makerValidDays: null,
        };
        const then = { ...asked, at: firstAt, now: firstAt, productLine: line, tests: [...followed, fresh] };
        // A reaction noted in the meantime of this question's year is not what was asked about.
        const later = [
          asked.colourReaction,
          asked.blackHennaReaction,
          ...asked.tests.map((test) => test.result === 'reacted' && { notedAt: test.readAt! }),
        ];
        if (later.some((note) => note && note.notedAt >= fresh.appliedAt)) return;
        expect(colourGate(then).allowed).toBe(true);
      }),
      { numRuns: 2_000, seed: 20_260_602 },
    );
    expect(promised).toBeGreaterThan(300);
  });

  it('changes nothing that it was asked with', () => {
    fc.assert(
      fc.property(question, (asked) => {
        const before = JSON.stringify(asked);
        colourGate(asked);
        expect(JSON.stringify(asked)).toBe(before);
      }),
      { numRuns: 200, seed: 20_260_603 },
    );
  });
});
