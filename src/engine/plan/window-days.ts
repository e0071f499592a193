import { HORIZON_DAYS, type ShapeSurvival } from './survival.js';

/**
 * The day (a real number, 0 to HORIZON_DAYS) on which the shape has failed with the given probability.
 * HORIZON_DAYS where it has not by then. `guess` is where to look first.
 *
 * Regula falsi on the log-odds against 1/t, in which they are nearly a straight line, with bisection as the net.
 */
export function failureDay(shape: ShapeSurvival, probability: number, guess: number): number {
  const goal = logOdds(probability);
  const gap = (days: number) => logOdds(shape.failed(days)) - goal;
  let low = 0;
  let high = HORIZON_DAYS;
  let previous = Math.min(HORIZON_DAYS, Math.max(0.5, guess));
  let gapPrevious = gap(previous);
  let days = previous * (gapPrevious < 0 ? 1.1 : 0.9);
  for (let step = 0; step < 60; step += 1) {
    if (gapPrevious < 0) low = Math.max(low, previous);
    else high = Math.min(high, previous);
    if (high - low < 0.01) break;
    if (!(days > low && days < high)) days = (low + high) / 2;
    const gapDays = gap(days);
    const next = 1 / (1 / days - (gapDays * (1 / days - 1 / previous)) / (gapDays - gapPrevious));
    if (Math.abs(next - days) < 0.004 && next >= low && next <= high) return next;
    previous = days;
    gapPrevious = gapDays;
    days = next;
  }
  return low === 0 ? 0 : high >= HORIZON_DAYS ? HORIZON_DAYS : (low + high) / 2;
}

function logOdds(probability: number): number {
  const p = Math.min(1 - 1e-12, Math.max(1e-12, probability));
  return Math.log(p / (1 - p));
}
