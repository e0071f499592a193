import { ZONES } from '../zones.js';
import type { GrowthProfile } from './profile.js';

/** Length of what {@link loadingsOf} returns. */
export const LOADING_NUMBERS = 3 * ZONES.length;

/**
 * The profile in 21 numbers, mm a day: mean rates of the seven zones, their parts shared through the person factor
 * (per standard deviation of that factor), standard deviations of the rest. What a window needs; small enough to
 * store beside the client.
 */
export function loadingsOf(profile: GrowthProfile): Float64Array {
  const n = ZONES.length;
  const packed = new Float64Array(LOADING_NUMBERS);
  const personVariance = profile.covariance[0]?.[0] ?? 0;
  const personSd = Math.sqrt(personVariance);
  for (let z = 0; z < n; z += 1) {
    const own = profile.covariance[z + 1]?.[z + 1] ?? 0;
    const shared = profile.covariance[0]?.[z + 1] ?? 0;
    const load = personSd > 0 ? (personVariance + shared) / personSd : 0;
    packed[z] = profile.prior.meanMmPerDay + (profile.mean[0] ?? 0) + (profile.mean[z + 1] ?? 0);
    packed[n + z] = load;
    packed[2 * n + z] = Math.sqrt(Math.max(0, personVariance + own + 2 * shared - load * load));
  }
  return packed;
}
