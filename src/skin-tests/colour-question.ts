import type { Clearance, NotedReaction } from './reactions.js';
import type { SkinTestRules, TestFacts } from './state.js';

export type ColourRefusal =
  | 'REACTION'
  | 'BLACK_HENNA_REACTION'
  | 'IRRITATED_SCALP'
  | 'BIRTHDAY_UNKNOWN'
  | 'UNDER_16'
  | 'PRODUCT_LINE_UNKNOWN'
  | 'NO_TEST'
  | 'OTHER_PRODUCT_LINE'
  | 'APPLIED'
  | 'NOT_READ'
  | 'TOO_SOON'
  | 'LAPSED'
  | 'LAPSES_BEFORE';

export type ColourQuestion = {
  readonly tests: readonly TestFacts[];
  /** 'YYYY-MM-DD', or null when it is not on record. */
  readonly birthday: string | null;
  /** Start of the colour. */
  readonly at: number;
  readonly now: number;
  /** The very line that is to be used. May be left open for a booking ahead, never once the visit is there. */
  readonly productLine?: string;
  readonly rules: SkinTestRules;
  readonly medicalClearances: readonly Clearance[];
  readonly irritatedScalp: boolean;
  readonly blackHennaReaction: NotedReaction | null;
  /** A reaction to colouring that was told, apart from our own skin tests. */
  readonly colourReaction: NotedReaction | null;
};

export type ColourPermission = {
  readonly allowed: true;
  /** Lines that the tests on record cover; no other may be used. */
  readonly productLines: readonly string[];
  readonly cautions: readonly string[];
};

export type ColourBar = {
  readonly allowed: false;
  readonly reason: ColourRefusal;
  readonly words: string;
  /** First instant that would do if what the words ask for is done at once and reads clear; null when no date can be named. */
  readonly firstAt: number | null;
  /** The calendar date of `firstAt` in the salon's zone. */
  readonly firstDateThatWouldDo: string | null;
  readonly cautions: readonly string[];
};
