import { dateIn } from '../base/index.js';
import type { Salon } from '../salon/index.js';
import {
  type MedicalClearance,
  type SafetyNote,
  type SafetyNoteKind,
  SKIN_TEST_WAIT_MS,
  type SkinTest,
  type SkinTestState,
  skinTestState,
  validThrough,
} from '../skin-tests/index.js';
import { dayText, momentText, type Spoken } from './days.js';

export const NOTE_WORDS: Record<SafetyNoteKind, string> = {
  'colour-reaction': 'A reaction to colouring is on record: no colour without documented medical clearance.',
  'black-henna-reaction':
    'A reaction to a black-henna tattoo is on record: no colour without documented medical clearance.',
  'irritated-scalp': 'An irritated scalp is on record: no colour until it has settled.',
};

export type SafetyRecords = {
  readonly tests: readonly SkinTest[];
  /** Those that have not ended. */
  readonly notes: readonly SafetyNote[];
  readonly clearances: readonly MedicalClearance[];
  /** Undefined for those without the right to see them. */
  readonly healthNotes: string | undefined;
};

export function testWords(test: SkinTest, state: SkinTestState, salon: Salon, spoken: Spoken): string {
  const date = (instant: number) => dayText(dateIn(salon.zone, instant), spoken);
  const rules = { validDays: salon.skinTestValidDays, zone: salon.zone };
  switch (state) {
    case 'applied':
      return `applied ${date(test.appliedAt)}; not to be read before its 48 hours are over on ${momentText(test.appliedAt + SKIN_TEST_WAIT_MS, salon.zone, spoken)}`;
    case 'not-read':
      return `applied ${date(test.appliedAt)} and not read: read it before any colour`;
    case 'clear':
      return `read clear; counts through ${dayText(validThrough(test, rules), spoken)} for this product line only`;
    case 'reacted':
      return 'reacted: no colour without documented medical clearance';
    case 'lapsed':
      return `lapsed after ${dayText(validThrough(test, rules), spoken)}: a new one is needed before colour`;
  }
}

/** The newest test of each product line in words, and every reaction whatever its age. */
function testRows({ tests }: SafetyRecords, salon: Salon, now: number, spoken: Spoken) {
  const rules = { validDays: salon.skinTestValidDays, zone: salon.zone };
  const newest = [...tests].sort((a, b) => b.appliedAt - a.appliedAt);
  return newest
    .map((test) => ({ test, state: skinTestState(test, rules, now) }))
    .filter(
      ({ test, state }) =>
        state === 'reacted' || newest.find((other) => other.productLine === test.productLine) === test,
    )
    .map(({ test, state }) => ({
      state,
      name: state === 'not-read' ? 'not read' : state,
      productLine: test.productLine,
      words: testWords(test, state, salon, spoken),
    }));
}

/** What can hurt, in the order in which it must be seen. */
export function safetyView(records: SafetyRecords, salon: Salon, now: number, spoken: Spoken) {
  const tests = testRows(records, salon, now, spoken);
  const notes = records.notes.map(({ kind, told }) => ({
    words: NOTE_WORDS[kind],
    told: records.healthNotes === undefined ? '' : told,
  }));
  const health = (records.healthNotes ?? '').trim();
  return {
    health,
    mayHealth: records.healthNotes !== undefined,
    notes,
    clearances: records.clearances.map(({ documentedOn, issuedBy }) => ({
      words: `Medical clearance of ${dayText(documentedOn, spoken)} by ${issuedBy}: keep within what it says.`,
    })),
    tests,
    stop: notes.length > 0 || tests.some(({ state }) => state === 'reacted'),
    nothing: health === '' && notes.length === 0,
    noTest: tests.length === 0,
  };
}
