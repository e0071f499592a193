import { dateIn } from '../base/index.js';
import type { SkinTestRules, TestFacts } from './state.js';

/** Newest medical clearance on record. */
export type Clearance = { readonly documentedOn: string; readonly recordedAt: number };

/** An earlier reaction told or seen outside our skin tests. */
export type NotedReaction = { readonly notedAt: number };

/** A reaction that came onto the record at `recordedAt`; `happenedOn` where we know the day. */
export type Reaction = { readonly recordedAt: number; readonly happenedOn: string | null };

export function testReactions(tests: readonly TestFacts[], rules: SkinTestRules): Reaction[] {
  return tests
    .filter((test) => test.result === 'reacted')
    .map((test) => ({
      recordedAt: test.readingRecordedAt ?? test.readAt ?? test.appliedAt,
      happenedOn: dateIn(rules.zone, test.readAt ?? test.appliedAt),
    }));
}

export function notedReaction(noted: NotedReaction | null): Reaction[] {
  return noted ? [{ recordedAt: noted.notedAt, happenedOn: null }] : [];
}

/**
 * Whether a clearance covers a reaction: it was recorded afterwards, and its document is not older than the
 * reaction it is to answer.
 */
export function isCovered(reaction: Reaction, clearance: Clearance | null): boolean {
  if (clearance === null || clearance.recordedAt <= reaction.recordedAt) return false;
  return reaction.happenedOn === null || clearance.documentedOn >= reaction.happenedOn;
}
