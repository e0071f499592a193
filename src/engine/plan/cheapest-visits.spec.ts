import { describe, expect, it } from '@jest/globals';

import { seededUniform } from '../stats/index.js';
import { cheapestVisits, type VisitProblem } from './cheapest-visits.js';

/** Every set of services on every bookable day, zone by zone and day by day; no grouping, no pruning but broken holds. */
function tryEverything(problem: VisitProblem): { cost: number; count: number; secondCost: number } | null {
  let best: { cost: number; count: number; secondCost: number } | null = null;
  const zones = problem.holdDays.length;
  const choices = Array.from({ length: 2 ** problem.offers.length - 1 }, (_, mask) =>
    problem.offers.filter((__, i) => ((mask + 1) >> i) & 1),
  );
  const walk = (
    day: number,
    ends: number[],
    fullEnd: number,
    cost: number,
    count: number,
    secondCost: number,
  ): void => {
    if (ends.some((end) => end < day) || fullEnd < day) {
      // Broken before this day's visit could help.
      if (day <= problem.horizon) return;
    }
    if (day > problem.horizon) {
      const better =
        best === null ||
        cost < best.cost ||
        (cost === best.cost &&
          (count < best.count || (count === best.count && secondCost < best.secondCost)));
      if (better) best = { cost, count, secondCost };
      return;
    }
    walk(day + 1, ends, fullEnd, cost, count, secondCost);
    if (!problem.days.includes(day)) return;
    for (const choice of choices) {
      const after = ends.slice();
      let full = fullEnd;
      let [price, second] = [problem.visitCost, 0];
      for (const offer of choice) {
        for (let zone = 0; zone < zones; zone += 1) {
          if (offer.isFull || offer.zones.includes(zone)) after[zone] = day + (problem.holdDays[zone] ?? 0);
        }
        if (offer.isFull) full = day + problem.fullEveryDays;
        price += offer.cost;
        second += offer.secondCost;
      }
      walk(day + 1, after, full, cost + price, count + 1, secondCost + second);
    }
  };
  walk(0, [...problem.firstDeadlines], problem.firstFullDeadline, 0, 0, 0);
  return best;
}

function randomProblem(uniform: () => number): VisitProblem {
  const whole = (from: number, to: number) => from + Math.floor(uniform() * (to - from + 1));
  const zones = whole(1, 4);
  const horizon = whole(6, 14);
  const days = Array.from({ length: horizon + 1 }, (_, day) => day)
    .filter(() => uniform() < 0.5)
    .slice(0, 5);
  const holdDays = Array.from({ length: zones }, () => whole(2, 10));
  const fullEveryDays = whole(5, 20);
  const offers = [
    { zones: [], cost: whole(3, 6), secondCost: whole(3, 6), isFull: true },
    ...Array.from({ length: whole(1, 2) }, () => ({
      zones: Array.from({ length: zones }, (_, zone) => zone).filter(() => uniform() < 0.6),
      cost: whole(0, 3),
      secondCost: whole(0, 3),
      isFull: false,
    })),
  ];
  return {
    days,
    horizon,
    holdDays,
    firstDeadlines: holdDays.map((hold) => whole(0, hold)),
    fullEveryDays,
    firstFullDeadline: whole(0, fullEveryDays),
    offers,
    visitCost: whole(0, 1),
  };
}

describe('cheapestVisits', () => {
  it('finds what trying everything finds, on 500 random small cases', () => {
    const uniform = seededUniform(26);
    let solvable = 0;
    for (let trial = 0; trial < 500; trial += 1) {
      const problem = randomProblem(uniform);
      const expected = tryEverything(problem);
      const found = cheapestVisits(problem);
      if (expected === null) {
        expect(found).toBeNull();
        continue;
      }
      solvable += 1;
      expect({ cost: found?.cost, count: found?.visits.length, secondCost: found?.secondCost }).toEqual(
        expected,
      );
    }
    expect(solvable).toBeGreaterThan(100);
    expect(solvable).toBeLessThan(500);
  });

  it('does not come weekly because a visit is free', () => {
    const found = cheapestVisits({
      days: Array.from({ length: 27 }, (_, week) => 7 * week),
      horizon: 182,
      holdDays: [20],
      firstDeadlines: [20],
      fullEveryDays: 1000,
      firstFullDeadline: 1000,
      offers: [{ zones: [0], cost: 0, secondCost: 0, isFull: false }],
      visitCost: 0,
    });
    // A hold of 20 days on a weekly grid: every 14 days, the last cut no earlier than day 162.
    expect(found?.visits.map(({ day }) => day)).toHaveLength(12);
  });
});
