import type { ColourQuestion, ColourRefusal } from '../../src/skin-tests/colour-question.js';
import { colourGate } from '../../src/skin-tests/colour-rules.js';
import type { TestFacts } from '../../src/skin-tests/state.js';

/** An instant written in UTC. */
export const utc = (text: string) => Date.parse(`${text}Z`);
export const LINE = 'Fernlight Cream 6';
export const OTHER = 'Fernlight Oil 6';

export function test(appliedAt: string, changes: Partial<TestFacts> = {}): TestFacts {
  return {
    productLine: LINE,
    appliedAt: utc(appliedAt),
    readAt: null,
    readingRecordedAt: null,
    result: null,
    makerValidDays: null,
    ...changes,
  };
}

export const read = (result: 'clear' | 'reacted', at: string): Partial<TestFacts> => ({
  result,
  readAt: utc(at),
  readingRecordedAt: utc(at),
});

/** A grown-up's booking of LINE for Wednesday 10 June 2026, 11:00 in London, asked on 8 June at 09:00. */
export const BASE: ColourQuestion = {
  tests: [],
  birthday: '1984-05-27',
  at: utc('2026-06-10T10:00'),
  now: utc('2026-06-08T08:00'),
  productLine: LINE,
  rules: { validDays: 180, zone: 'Europe/London' },
  medicalClearances: [],
  irritatedScalp: false,
  blackHennaReaction: null,
  colourReaction: null,
};

export type Answer = ColourRefusal | 'allowed';
export type Case = readonly [
  name: string,
  asked: Partial<ColourQuestion>,
  answer: Answer,
  firstDate: string | null,
];

/** Applied on 1 June 2026 and read clear two days later. */
export const JUNE_1 = test('2026-06-01T09:00', read('clear', '2026-06-03T09:00'));

/** What the gate answers, as a case says it. */
export function answered(asked: Partial<ColourQuestion>): { answer: Answer; firstDate: string | null } {
  const verdict = colourGate({ ...BASE, ...asked });
  return verdict.allowed
    ? { answer: 'allowed', firstDate: null }
    : { answer: verdict.reason, firstDate: verdict.firstDateThatWouldDo };
}
