import { dateIn, dateInWords } from '../base/index.js';
import { LEAST_AGE_YEARS, sixteenthBirthday } from './age.js';
import { CAUTIONS } from './cautions.js';
import type { ColourBar, ColourPermission, ColourQuestion } from './colour-question.js';
import { sameProductLine } from './product-line.js';
import { isCovered, notedReaction, type Reaction, testReactions } from './reactions.js';
import type { TestFacts } from './state.js';
import {
  firstWithNewTest,
  momentInWords,
  newTestWords,
  type Shortfall,
  shortfallOf,
} from './test-verdict.js';

/**
 * May this client be coloured then? One rule for both moments, the booking (`at` ahead of `now`) and the visit
 * (`at` not after `now`): a test of the very line, applied at least 48 h before `at`, read clear by `now`, and
 * still counting on the date of `at`. A test that is applied but not read takes no booking yet. Nobody under 16
 * on that date, nobody whose birthday is unknown; a recorded reaction or a black-henna reaction bars until a
 * medical clearance recorded after it, and then only a test applied after it counts; an irritated scalp always
 * bars. Sources: Regulation (EC) 1223/2009 Annex III (label); Cosmetics Europe 2023 (48 h); the rest is the
 * trade's practice, stricter where the sources leave room. Pure; knows nothing of projections.
 */
export function colourGate(question: ColourQuestion): ColourPermission | ColourBar {
  const reactions = [
    ...testReactions(question.tests, question.rules),
    ...notedReaction(question.colourReaction),
  ];
  const henna = notedReaction(question.blackHennaReaction);
  const bar = personalBar(question, reactions, henna);
  if (bar) return refusal(question, bar);

  const { productLine } = question;
  if (productLine === undefined && question.at <= question.now) {
    return refusal(question, {
      reason: 'PRODUCT_LINE_UNKNOWN',
      words: 'Name the product line that is used: a skin test of one line says nothing about another.',
      firstAt: null,
    });
  }
  const past = [...reactions, ...henna];
  const since = Math.max(...past.map((reaction) => reaction.recordedAt));
  const applied = question.tests.filter((test) => test.appliedAt <= question.now && test.appliedAt > since);
  const ofLine = applied.filter(
    (test) => productLine === undefined || sameProductLine(test.productLine, productLine),
  );
  const good = ofLine.filter((test) => shortfallOf(test, question) === undefined);
  if (good.length > 0) return permission(question, good, past.length > 0);

  const newest = [...ofLine].sort((one, other) => other.appliedAt - one.appliedAt)[0];
  const shortfall = newest && shortfallOf(newest, question);
  return refusal(question, shortfall ?? noTest(question, applied, past.length > 0));
}

/** What no skin test can lift. */
function personalBar(
  question: ColourQuestion,
  reactions: readonly Reaction[],
  henna: readonly Reaction[],
): Shortfall | undefined {
  const { birthday, rules, medicalClearance } = question;
  const uncovered = (reaction: Reaction) => !isCovered(reaction, medicalClearance);
  if (reactions.some(uncovered)) {
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

function noTest(question: ColourQuestion, applied: readonly TestFacts[], hadReaction: boolean): Shortfall {
  const firstAt = firstWithNewTest(question);
  const remedy = newTestWords(question);
  if (applied.length > 0) {
    const lines = distinctLines(applied).join(', ');
    return {
      reason: 'OTHER_PRODUCT_LINE',
      words: `The skin tests on record are of ${lines}, not of ${question.productLine}: a test of one line says nothing about another. ${remedy}`,
      firstAt,
    };
  }
  const line = question.productLine === undefined ? '' : ` of ${question.productLine}`;
  const since = hadReaction ? ' since the reaction' : '';
  return { reason: 'NO_TEST', words: `There is no skin test${line} on record${since}. ${remedy}`, firstAt };
}

function permission(
  { medicalClearance }: ColourQuestion,
  tests: readonly TestFacts[],
  hadReaction: boolean,
): ColourPermission {
  const productLines = distinctLines(tests);
  const cautions = [`The skin test covers ${productLines.join(', ')} and nothing else.`];
  if (medicalClearance && hadReaction) {
    cautions.push(
      `There was a reaction. A medical clearance of ${dateInWords(medicalClearance.documentedOn)} is on record: keep within what it says.`,
    );
  }
  return { allowed: true, productLines, cautions: [...cautions, ...CAUTIONS] };
}

function refusal({ rules }: ColourQuestion, { reason, words, firstAt }: Shortfall): ColourBar {
  return {
    allowed: false,
    reason,
    words,
    firstAt,
    firstDateThatWouldDo: firstAt === null ? null : dateIn(rules.zone, firstAt),
    cautions: CAUTIONS,
  };
}

function distinctLines(tests: readonly TestFacts[]): string[] {
  const lines: string[] = [];
  for (const { productLine } of tests) {
    if (!lines.some((line) => sameProductLine(line, productLine))) lines.push(productLine);
  }
  return lines;
}
