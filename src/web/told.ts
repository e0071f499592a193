import { isDate } from '../base/index.js';
import type { Why } from '../engine/growth/index.js';
import { dayText, type Spoken } from './days.js';
import { lengthText, type Ruler } from './lengths.js';

/** Shorter lengths are told in mm everywhere: a tenth of a cm or an eighth of an inch would round them away. */
const LEAST_MM = 1;

/** The engine speaks of mm and of days like 2026-05-14; a page says both as the salon does. Rates stay in mm a day. */
export function told(words: string, { units }: Ruler, spoken: Spoken): string {
  return words
    .replace(/(-?\d+(?:\.\d+)?) mm\b(?! a day)/g, (as, mm: string) =>
      Math.abs(Number(mm)) < LEAST_MM ? as : lengthText(Number(mm), units),
    )
    .replace(/\b\d{4}-\d{2}-\d{2}\b/g, (date) => (isDate(date) ? dayText(date, spoken) : date));
}

/** Everything behind one figure, in the salon's units. */
export function whyView(why: Why, ruler: Ruler, spoken: Spoken) {
  const say = (words: string) => told(words, ruler, spoken);
  return {
    figure: why.figure,
    value: say(why.value),
    inputs: why.inputs.map(({ name, value }) => ({ name, value: say(value) })),
    rates: why.rates.map(say),
    limit: why.limit && say(why.limit),
    formula: why.formula,
    sources: why.sources,
    knowledgeEnds: why.knowledgeEnds.map(say),
  };
}

export type WhyView = ReturnType<typeof whyView>;
