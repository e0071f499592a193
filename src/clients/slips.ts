/**
 * Least number of slips (a letter too many, too few, wrong, or two neighbours swapped) between `typed` and any
 * beginning of `word`, so that an unfinished word is no slip: optimal string alignment distance, least of its
 * last row. Counting stops at `most`: everything beyond is `most + 1`.
 */
export function slipsToBeginning(typed: string, word: string, most: number): number {
  const beyond = most + 1;
  if (typed.length - word.length > most) return beyond;
  let beforePrevious: number[] = [];
  let previous: number[] = [];
  for (let column = 0; column <= word.length; column += 1) previous.push(column);
  for (let row = 1; row <= typed.length; row += 1) {
    const letter = typed.charCodeAt(row - 1);
    const current = [row];
    let least = row;
    for (let column = 1; column <= word.length; column += 1) {
      const same = letter === word.charCodeAt(column - 1);
      let cost = previous[column - 1]! + (same ? 0 : 1);
      if (previous[column]! + 1 < cost) cost = previous[column]! + 1;
      if (current[column - 1]! + 1 < cost) cost = current[column - 1]! + 1;
      if (row > 1 && column > 1 && !same) {
        const swapped =
          letter === word.charCodeAt(column - 2) && typed.charCodeAt(row - 2) === word.charCodeAt(column - 1);
        if (swapped && beforePrevious[column - 2]! + 1 < cost) cost = beforePrevious[column - 2]! + 1;
      }
      current.push(cost);
      if (cost < least) least = cost;
    }
    if (least > most) return beyond;
    beforePrevious = previous;
    previous = current;
  }
  return Math.min(...previous, beyond);
}

/** Slips forgiven in a word of so many letters, as Elasticsearch's fuzziness AUTO: none to 2, one to 5, then two. */
export function slipsForgiven(letters: number): number {
  if (letters < 3) return 0;
  return letters < 6 ? 1 : 2;
}
