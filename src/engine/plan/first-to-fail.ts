import type { ShapeSurvival } from './survival.js';

const STEPS = 60;

/**
 * For each limit, by its place, the probability that it is the first to be passed: what survival loses through it over
 * small steps up to `untilDays`, scaled to add up to 1. What has failed on the first day already counts for the limit
 * most likely to have done so.
 */
export function firstToFail(shape: ShapeSurvival, limits: number, untilDays: number): number[] {
  const losses = Array.from({ length: limits }, () => 0);
  const atOnce = shape.likeliestFailed(0);
  losses[atOnce] = shape.failed(0);
  const step = untilDays / STEPS;
  for (let i = 0; i < STEPS; i += 1) shape.addLosses(losses, i * step, step);
  const total = losses.reduce((sum, loss) => sum + loss, 0);
  return total > 0 ? losses.map((loss) => loss / total) : losses.map((_, k) => (k === atOnce ? 1 : 0));
}
