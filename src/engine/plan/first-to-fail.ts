import type { ShapeSurvival } from './survival.js';

/** Within 0.003 of the closed form for two limits, see the spec. */
const STEPS = 40;
/** Where none is ever passed, the likeliest to be leads all the same. */
const LEAST = Number.MIN_VALUE;

/**
 * For each limit, by its place, the probability that it is the first to be passed: what survival loses through it over
 * small steps up to `untilDays`, scaled to add up to 1. What has failed on the first day already counts for the limit
 * most likely to have done so.
 */
export function firstToFail(shape: ShapeSurvival, limits: number, untilDays: number): number[] {
  const losses = Array.from({ length: limits }, () => 0);
  const atOnce = shape.likeliestFailed(0);
  losses[atOnce] = Math.max(LEAST, shape.failed(0));
  const step = untilDays / STEPS;
  for (let i = 0; i < STEPS; i += 1) shape.addLosses(losses, i * step, step);
  const total = losses.reduce((sum, loss) => sum + loss, 0);
  return losses.map((loss) => loss / total);
}
