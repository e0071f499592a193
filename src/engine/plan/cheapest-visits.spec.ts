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

  /** One zone that holds 20 days from the start, and again after each cut. */
  const simple: VisitProblem = {
    days: [0, 5, 10, 15, 20, 25, 30, 35, 40],
    horizon: 50,
    holdDays: [20],
    firstDeadlines: [20],
    fullEveryDays: 1000,
    firstFullDeadline: 1000,
    offers: [{ zones: [0], cost: 3, secondCost: 1, isFull: false }],
    visitCost: 0,
  };
  const days = (changes: Partial<VisitProblem>) =>
    cheapestVisits({ ...simple, ...changes })?.visits.map(({ day }) => day) ?? null;

  it('waits as long as it may: of equal plans it takes the latest days', () => {
    // Two visits do from days 10 and 30 on.
    expect(days({})).toEqual([20, 40]);
    expect(days({ horizon: 45, days: [0, 5, 10, 15, 20, 25, 30] })).toEqual([20, 30]);
  });

  it('takes the latest days where plans with other visits cost as much', () => {
    // The second zone must be cut by day 30 and then holds. With the first on day 20, which is then cut again on day
    // 40; or with the first's second cut, on day 30. Either way three tidies on two days.
    const tidy = (zone: number) => ({ zones: [zone], cost: 3, secondCost: 1, isFull: false });
    const found = cheapestVisits({
      ...simple,
      days: [20, 30, 40],
      holdDays: [20, 100],
      firstDeadlines: [20, 30],
      offers: [tidy(0), tidy(1)],
    });
    expect(found?.visits).toEqual([
      { day: 20, offers: [0, 1] },
      { day: 40, offers: [0] },
    ]);
  });

  it('drops what is beaten: half a year of weeks with three zones out of step is soon found', () => {
    // 28 days each from days 7, 14 and 21 on, to day 182. The first zone needs 7 cuts (175 / 28), the others 6 (168 / 28
    // and 161 / 28). The second makes do with 6 only from day 14 on, every 28 days; there the third joins.
    const found = cheapestVisits({
      ...simple,
      days: Array.from({ length: 27 }, (_, week) => 7 * week),
      horizon: 182,
      holdDays: [28, 28, 28],
      firstDeadlines: [7, 14, 21],
      offers: [0, 1, 2].map((zone) => ({ zones: [zone], cost: 1, secondCost: 0, isFull: false })),
    });
    expect(found?.cost).toBe(7 + 6 + 6);
    expect(found?.visits.map(({ day }) => day)).toEqual([7, 14, 42, 70, 98, 126, 154]);
  });

  it('holds up to and including the last day, and needs no visit on it', () => {
    expect(days({ horizon: 20 })).toEqual([]);
    expect(days({ horizon: 21 })).toEqual([20]);
    expect(days({ horizon: 60 })).toEqual([20, 40]);
    // 40 and 20 days more are 60: the day after is broken, and no visit on day 61 can mend it.
    expect(days({ horizon: 61 })).toBeNull();
    expect(days({ horizon: 61, days: [...simple.days, 61, 70] })).toBeNull();
    expect(days({ horizon: 60, days: [...simple.days, 61, 70] })).toEqual([20, 40]);
    expect(days({ days: [] })).toBeNull();
    expect(days({ days: [], horizon: 20 })).toEqual([]);
    expect(days({ days: [21, 40] })).toBeNull();
  });

  it('takes of offers that cut the same the cheapest, of equals the one with the least second cost', () => {
    const offer = (cost: number, secondCost: number, isFull = false) => ({
      zones: [0],
      cost,
      secondCost,
      isFull,
    });
    const taken = (...offers: VisitProblem['offers']) => {
      const found = cheapestVisits({ ...simple, horizon: 30, offers });
      return [found?.visits.map((visit) => visit.offers), found?.cost, found?.secondCost];
    };
    expect(taken(offer(3, 1), offer(2, 9))).toEqual([[[1]], 2, 9]);
    expect(taken(offer(3, 5), offer(3, 4), offer(3, 6))).toEqual([[[1]], 3, 4]);
    expect(taken(offer(3, 4), offer(3, 5))).toEqual([[[0]], 3, 4]);
    expect(taken(offer(3, 5, true), offer(3, 4, true))).toEqual([[[1]], 3, 4]);
  });

  it('counts what coming costs with each visit', () => {
    expect(cheapestVisits({ ...simple, visitCost: 7 })).toMatchObject({ cost: 2 * (3 + 7), secondCost: 2 });
  });

  it('plans with eight kinds of tidy beside a full cut, and no more', () => {
    const tidies = (count: number) => Array.from({ length: count }, () => ({ ...simple.offers[0] }));
    const full = { zones: [], cost: 9, secondCost: 9, isFull: true };
    const plan = (count: number) =>
      cheapestVisits({ ...simple, offers: [full, ...tidies(count)] as VisitProblem['offers'] });
    expect(plan(8)?.cost).toBe(6);
    expect(() => plan(9)).toThrow(
      expect.objectContaining({
        code: 'ENGINE.OUT_OF_RANGE',
        field: 'tidies',
        message: 'At most 8 kinds of tidy can be planned with.',
      }),
    );
  });
});
