/**
 * Least number of slips (a letter too many, too few, wrong, or two neighbours swapped) between `typed` and any
 * beginning of `word`: optimal string alignment distance, kept to the last row's minimum so that an unfinished
 * word is no slip. Counting stops at `most`: everything beyond is `most + 1`.
 */
export function slipsToBeginning(typed: string, word: string, most: number): number {
  let beforePrevious: number[] = [];
  let previous = Array.from({ length: word.length + 1 }, (_, column) => column);
  for (let row = 1; row <= typed.length; row += 1) {
    const current = [row];
    let least = row;
    for (let column = 1; column <= word.length; column += 1) {
      const wrong = typed[row - 1] === word[column - 1] ? 0 : 1;
      let cost = Math.min(previous[column]! + 1, current[column - 1]! + 1, previous[column - 1]! + wrong);
      if (
        row > 1 &&
        column > 1 &&
        typed[row - 1] === word[column - 2] &&
        typed[row - 2] === word[column - 1]
      ) {
        cost = Math.min(cost, beforePrevious[column - 2]! + 1);
      }
      current.push(cost);
      least = Math.min(least, cost);
    }
    if (least > most) return most + 1;
    beforePrevious = previous;
    previous = current;
  }
  return Math.min(...previous, most + 1);
}

/** Slips forgiven in a word of so many letters, as Elasticsearch's fuzziness AUTO: none to 2, one to 5, then two. */
export function slipsForgiven(letters: number): number {
  if (letters < 3) return 0;
  return letters < 6 ? 1 : 2;
}
