import { EngineError } from '../errors.js';
import { zoneName } from '../growth/index.js';
import { gaussHermite, normalCdf } from '../stats/index.js';
import { ZONES, type Zone } from '../zones.js';

export interface GrowingZone {
  readonly zone: Zone;
  readonly deficitMm: number;
  /** Error of the present length. */
  readonly sdMm: number;
  readonly dustMmPerDay: number;
}

const LONGEST_DAYS = 3660;
const PERSON = gaussHermite(21);

/**
 * Whole days until all zones have made up their deficits with probability 50 and 90 %: for a zone alone
 * P((rate - dusting) * days + error > deficit), for several the product given the person factor, averaged over it.
 * [0, 0] for no zones. Throws ENGINE.IMPOSSIBLE beyond ten years.
 */
export function readyDays(loadings: Float64Array, zones: readonly GrowingZone[]): [number, number] {
  if (zones.length === 0) return [0, 0];
  return [readyDay(loadings, zones, 0.5), readyDay(loadings, zones, 0.9)];
}

function readyDay(loadings: Float64Array, zones: readonly GrowingZone[], probability: number): number {
  let low = 0;
  let high = LONGEST_DAYS;
  if (ready(loadings, zones, high) < probability) {
    const slowest = zones.reduce((a, b) => (b.deficitMm > a.deficitMm ? b : a));
    throw new EngineError(
      'ENGINE.IMPOSSIBLE',
      'wantedMm',
      `The ${zoneName(slowest.zone)} lacks ${Math.round(slowest.deficitMm)} mm, more than ten years' growth: want less of it.`,
    );
  }
  while (high - low > 1e-3) {
    const middle = (low + high) / 2;
    if (ready(loadings, zones, middle) < probability) low = middle;
    else high = middle;
  }
  return Math.round((low + high) / 2);
}

function ready(loadings: Float64Array, zones: readonly GrowingZone[], days: number): number {
  const n = ZONES.length;
  return PERSON.nodes.reduce((sum, x, i) => {
    const all = zones.reduce((product, { zone, deficitMm, sdMm, dustMmPerDay }) => {
      const z = ZONES.indexOf(zone);
      const rate = (loadings[z] ?? 0) + (loadings[n + z] ?? 0) * x - dustMmPerDay;
      const spread = Math.max(1e-9, Math.hypot((loadings[2 * n + z] ?? 0) * days, sdMm));
      return product * normalCdf((rate * days - deficitMm) / spread);
    }, 1);
    return sum + (PERSON.weights[i] ?? 0) * all;
  }, 0);
}
