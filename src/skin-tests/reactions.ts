import { dateIn } from '../base/index.js';
import type { SkinTestRules, TestFacts } from './state.js';

/** A medical clearance on record. */
export type Clearance = { readonly documentedOn: string; readonly recordedAt: number };

/** An earlier reaction told or seen outside our skin tests. */
export type NotedReaction = { readonly notedAt: number };

/** A reaction that came onto the record at `recordedAt`; `happenedOn` where we know the day. */
export type Reaction = { readonly recordedAt: number; readonly happenedOn: string | null };

/** When a test's reading came onto the record. */
export function reactionRecordedAt(test: TestFacts): number {
  return test.readingRecordedAt ?? test.readAt ?? test.appliedAt;
}

export function testReactions(tests: readonly TestFacts[], rules: SkinTestRules): Reaction[] {
  return tests
    .filter((test) => test.result === 'reacted')
    .map((test) => ({
      recordedAt: reactionRecordedAt(test),
      happenedOn: dateIn(rules.zone, test.readAt ?? test.appliedAt),
    }));
}

export function notedReaction(noted: NotedReaction | null): Reaction[] {
  return noted ? [{ recordedAt: noted.notedAt, happenedOn: null }] : [];
}

/** Whether some clearance was recorded after a reaction, on a document not older than the reaction itself. */
export function isCovered(reaction: Reaction, clearances: readonly Clearance[]): boolean {
  return clearances.some(
    ({ documentedOn, recordedAt }) =>
      recordedAt > reaction.recordedAt &&
      (reaction.happenedOn === null || documentedOn >= reaction.happenedOn),
  );
}
