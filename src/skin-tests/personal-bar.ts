import { dateIn, dateInWords } from '../base/index.js';
import { LEAST_AGE_YEARS, sixteenthBirthday } from './age.js';
import type { ColourQuestion } from './colour-question.js';
import { isCovered, notedReaction, type Reaction, testReactions } from './reactions.js';
import { firstWithNewTest, momentInWords, type Shortfall } from './test-verdict.js';

/** Every reaction on record, to colour (our own skin tests and what was told) and to black henna. */
export function reactionsIn(question: ColourQuestion): { ours: Reaction[]; henna: Reaction[] } {
  return {
    ours: [...testReactions(question.tests, question.rules), ...notedReaction(question.colourReaction)],
    henna: notedReaction(question.blackHennaReaction),
  };
}

/** What no skin test can lift: why this client may not be coloured at `question.at` at all. */
export function personalBar(question: ColourQuestion): Shortfall | undefined {
  const { birthday, rules, medicalClearances } = question;
  const { ours, henna } = reactionsIn(question);
  const uncovered = (reaction: Reaction) => !isCovered(reaction, medicalClearances);
  if (ours.some(uncovered)) {
    return {
      reason: 'REACTION',
      words:
        'A reaction is on record. No colour and no further skin test until the owner has recorded a documented medical clearance.',
      firstAt: null,
    };
  }
  if (henna.some(uncovered)) {
    return {
      reason: 'BLACK_HENNA_REACTION',
      words:
        'A reaction to black henna is on record. No colour and no skin test until the client has had medical advice and the owner has recorded the documented clearance.',
      firstAt: null,
    };
  }
  if (question.irritatedScalp) {
    return {
      reason: 'IRRITATED_SCALP',
      words: 'An irritated scalp is on record. No colour until it has settled and that has been recorded.',
      firstAt: null,
    };
  }
  if (birthday === null) {
    return {
      reason: 'BIRTHDAY_UNKNOWN',
      words: `There is no colour for anybody under ${LEAST_AGE_YEARS}, and this client's birthday is not on record. Ask for it and record it first.`,
      firstAt: null,
    };
  }
  const oldEnoughOn = sixteenthBirthday(birthday);
  if (dateIn(rules.zone, question.at) >= oldEnoughOn) return undefined;
  const firstAt = firstWithNewTest(question);
  const from = firstAt === null ? '' : `, the first time that would do is ${momentInWords(rules, firstAt)}`;
  return {
    reason: 'UNDER_16',
    words: `There is no colour and no skin test for anybody under ${LEAST_AGE_YEARS}. This client is ${LEAST_AGE_YEARS} on ${dateInWords(oldEnoughOn)}; with a skin test after that${from}.`,
    firstAt,
  };
}
