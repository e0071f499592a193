import { HORIZON_DAYS, type ShapeSurvival } from './survival.js';

/** A day and the log-odds of having failed by then. */
interface Point {
  readonly days: number;
  readonly odds: number;
}

/** A secant step this short lands within a hundredth of a day: the curve is all but straight over it. */
const LAST_STEP_DAYS = 0.2;
const BRACKET_DAYS = 0.01;

/** The days (real numbers, 0 to HORIZON_DAYS) on which the shape has failed with probability 10, 50 and 90 %. */
export function failureDays(shape: ShapeSurvival): [number, number, number] {
  const guess = Math.min(HORIZON_DAYS, Math.max(0.5, 0.95 * shape.meanFailureDay()));
  const first = pointAt(shape, guess);
  const second = pointAt(shape, guess * (first.odds < 0 ? 1.1 : 0.9));
  const due = solve(shape, 0.5, first, second);
  const [, a, b] = due[0] > 0 ? due : [0, first, second];
  return [solve(shape, 0.1, a, b)[0], due[0], solve(shape, 0.9, a, b)[0]];
}

/**
 * The day for one probability, and the two points nearest to it that were looked at. HORIZON_DAYS where the shape has
 * not failed so far by then, 0 where it has from the start.
 *
 * Secant steps on the log-odds against 1/t, in which they are nearly a straight line, with bisection as the net.
 */
function solve(shape: ShapeSurvival, probability: number, a: Point, b: Point): [number, Point, Point] {
  const goal = logOdds(probability);
  let low = 0;
  let high = HORIZON_DAYS;
  let before = a;
  let last = b;
  for (const point of [a, b]) {
    if (point.odds < goal) low = Math.max(low, point.days);
    else high = Math.min(high, point.days);
  }
  for (let step = 0; step < 60 && high - low > BRACKET_DAYS; step += 1) {
    const slope = (1 / last.days - 1 / before.days) / (last.odds - before.odds);
    let days = 1 / (1 / last.days + (goal - last.odds) * slope);
    if (Math.abs(days - last.days) < LAST_STEP_DAYS && Math.abs(goal - last.odds) < 0.05)
      return [days, before, last];
    if (!(days > low && days < high)) days = (low + high) / 2;
    before = last;
    last = pointAt(shape, days);
    if (last.odds < goal) low = days;
    else high = days;
  }
  return [low === 0 ? 0 : high === HORIZON_DAYS ? HORIZON_DAYS : (low + high) / 2, before, last];
}

function pointAt(shape: ShapeSurvival, days: number): Point {
  return { days, odds: logOdds(shape.failed(days)) };
}

function logOdds(probability: number): number {
  const p = Math.min(1 - 1e-12, Math.max(1e-12, probability));
  return Math.log(p / (1 - p));
}
