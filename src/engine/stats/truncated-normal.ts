import { normalCdf, normalDensity } from './normal.js';

/**
 * Mean and variance of a normal variable given that it lies between `low` and `high` (either may be infinite).
 * `sd` > 0, `low` < `high`. Where the interval is too far out to be told from impossible (probability below 1e-200)
 * the nearest bound, with variance 0.
 *
 * Johnson, Kotz, Balakrishnan 1994, Continuous Univariate Distributions 1, 13.10.1.
 */
export function truncatedNormal(
  mean: number,
  sd: number,
  low: number,
  high: number,
): { mean: number; variance: number } {
  const a = (low - mean) / sd;
  const b = (high - mean) / sd;
  // Differences of probabilities keep their digits only in the lower tail.
  if (a > 0) {
    const mirrored = truncatedNormal(-mean, sd, -high, -low);
    return { mean: -mirrored.mean, variance: mirrored.variance };
  }
  const inside = normalCdf(b) - normalCdf(a);
  if (inside < 1e-200) return { mean: high, variance: 0 };
  const shift = (normalDensity(a) - normalDensity(b)) / inside;
  const edge = (finite(a) * normalDensity(a) - finite(b) * normalDensity(b)) / inside;
  return { mean: mean + sd * shift, variance: Math.max(0, sd * sd * (1 + edge - shift * shift)) };
}

function finite(bound: number): number {
  return Number.isFinite(bound) ? bound : 0;
}
