import { describe, expect, it } from '@jest/globals';
import { slipsForgiven, slipsToBeginning } from './slips.js';

describe('slips between what was typed and the beginning of a word', () => {
  it.each([
    // Levenshtein's textbook pair: 3 edits to "sitting"; "sittin" is reached by two, the last g being unfinished.
    ['kitten', 'sitting', 2],
    // Wagner, Fischer 1974 and every text after it: Saturday and Sunday, 3.
    ['saturday', 'sunday', 3],
    // Damerau 1964: two neighbours swapped are one slip.
    ['jhon', 'john', 1],
    // Optimal string alignment of CA and ABC is 3; to the beginning "a" of ABC one letter less is enough.
    ['ca', 'abc', 1],
    ['ottili', 'ottilie', 0],
    ['otilie', 'ottilie', 1],
    ['ottilie', 'ottilie', 0],
    ['', 'ottilie', 0],
  ])('%s against %s: %i', (typed, word, slips) => {
    expect(slipsToBeginning(typed, word, 5)).toBe(slips);
  });

  it('stops counting beyond the most that matters', () => {
    expect(slipsToBeginning('wrenfield', 'ottilie', 2)).toBe(3);
  });

  it.each([
    // Elasticsearch reference, "Fuzziness", AUTO: 0..2 exact, 3..5 one edit, above 5 two edits.
    [2, 0],
    [3, 1],
    [5, 1],
    [6, 2],
  ])('forgives in %i letters %i', (letters, slips) => {
    expect(slipsForgiven(letters)).toBe(slips);
  });
});
