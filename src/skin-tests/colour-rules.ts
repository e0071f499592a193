import { dateIn, dateInWords } from '../base/index.js';
import { sixteenthBirthday } from './age.js';
import { CAUTIONS } from './cautions.js';
import type { ColourBar, ColourPermission, ColourQuestion } from './colour-question.js';
import { personalBar, reactionsIn } from './personal-bar.js';
import { sameProductLine } from './product-line.js';
import type { Reaction } from './reactions.js';
import type { TestFacts } from './state.js';
import { firstWithNewTest, newTestWords, type Shortfall, shortfallOf } from './test-verdict.js';

/**
 * May this client be coloured then? One rule for both moments, the booking (`at` ahead of `now`) and the visit
 * (`at` not after `now`): a test of the very line, applied at least 48 h before `at`, read clear by `now`, and
 * still counting on the date of `at`. A test that is applied but not read takes no booking yet. Nobody under 16
 * on that date, nobody whose birthday is unknown; a recorded reaction or a black-henna reaction bars until a
 * medical clearance recorded after it, and then only a test applied after it counts, as only one applied at 16
 * or over does; an irritated scalp always bars. Sources: Regulation (EC) 1223/2009 Annex III (label); Cosmetics
 * Europe 2023 (48 h); the rest is the trade's practice, stricter where the sources leave room. Pure; knows
 * nothing of projections.
 */
export function colourGate(question: ColourQuestion): ColourPermission | ColourBar {
  const bar = personalBar(question);
  if (bar) return refusal(question, bar);

  const { productLine } = question;
  if (productLine === undefined && question.at <= question.now) {
    return refusal(question, {
      reason: 'PRODUCT_LINE_UNKNOWN',
      words: 'Name the product line that is used: a skin test of one line says nothing about another.',
      firstAt: null,
    });
  }
  const { ours, henna } = reactionsIn(question);
  const past = [...ours, ...henna];
  const applied = question.tests.filter((test) => counts(test, question, past));
  const ofLine = applied.filter(
    (test) => productLine === undefined || sameProductLine(test.productLine, productLine),
  );
  const good = ofLine.filter((test) => shortfallOf(test, question) === undefined);
  if (good.length > 0) return permission(question, good, past.length > 0);

  const newest = [...ofLine].sort((one, other) => other.appliedAt - one.appliedAt)[0];
  const shortfall = newest && shortfallOf(newest, question);
  return refusal(question, shortfall ?? noTest(question, applied, past.length > 0));
}

/** Only a test that was applied after every reaction, and not under 16, can speak for a colour. */
function counts(
  test: TestFacts,
  { now, birthday, rules }: ColourQuestion,
  past: readonly Reaction[],
): boolean {
  return (
    test.appliedAt <= now &&
    past.every((reaction) => test.appliedAt > reaction.recordedAt) &&
    birthday !== null &&
    dateIn(rules.zone, test.appliedAt) >= sixteenthBirthday(birthday)
  );
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
  { medicalClearances }: ColourQuestion,
  tests: readonly TestFacts[],
  hadReaction: boolean,
): ColourPermission {
  const productLines = distinctLines(tests);
  const cautions = [`The skin test covers ${productLines.join(', ')} and nothing else.`];
  if (tests.every(({ takenOverAt }) => typeof takenOverAt === 'number')) {
    cautions.push(
      'That skin test was taken over from other records: nobody here applied or read it. If in doubt, apply a new one.',
    );
  }
  if (hadReaction) {
    const dates = medicalClearances.map(({ documentedOn }) => dateInWords(documentedOn)).join('; ');
    cautions.push(
      `There was a reaction. Medical clearance is on record (${dates}): keep within what it says.`,
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
