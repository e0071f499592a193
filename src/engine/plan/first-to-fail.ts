import { PERSON_NODES, PERSON_WEIGHTS, type ShapeSurvival } from './survival.js';

const STEPS = 48;

/**
 * For each limit the probability that it is the first to be passed: competing risks, given the person factor taken as
 * independent, summed over small steps of time between the days `from` and `to` and scaled to add up to 1.
 * `singles` holds one shape per limit.
 */
export function firstToFail(singles: readonly ShapeSurvival[], from: number, to: number): number[] {
  const shares = singles.map(() => 0);
  let before = holds(singles, from);
  for (let step = 1; step <= STEPS; step += 1) {
    const after = holds(singles, from + ((to - from) * step) / STEPS);
    for (let i = 0; i < PERSON_NODES.length; i += 1) {
      const middle = singles.map((_, k) => ((before[k]?.[i] ?? 0) + (after[k]?.[i] ?? 0)) / 2);
      for (let k = 0; k < singles.length; k += 1) {
        const lost = Math.max(0, (before[k]?.[i] ?? 0) - (after[k]?.[i] ?? 0));
        const others = middle.reduce((product, hold, j) => (j === k ? product : product * hold), 1);
        shares[k] = (shares[k] ?? 0) + (PERSON_WEIGHTS[i] ?? 0) * lost * others;
      }
    }
    before = after;
  }
  const total = shares.reduce((sum, share) => sum + share, 0);
  return total > 0 ? shares.map((share) => share / total) : alreadyFailed(before);
}

function holds(singles: readonly ShapeSurvival[], days: number): number[][] {
  return singles.map((single) => {
    single.prepare(days);
    return PERSON_NODES.map((x) => single.holdGivenPerson(x));
  });
}

/** Where nothing changes over the whole span, those that hold least come first, in equal parts. */
function alreadyFailed(last: readonly number[][]): number[] {
  const hold = last.map((nodes) =>
    nodes.reduce((sum, value, i) => sum + value * (PERSON_WEIGHTS[i] ?? 0), 0),
  );
  const least = Math.min(...hold);
  const count = hold.filter((value) => value === least).length;
  return hold.map((value) => (value === least ? 1 / count : 0));
}
