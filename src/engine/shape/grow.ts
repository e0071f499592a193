import { EngineError, requireNumber } from '../errors.js';
import { ZONES, type Zone } from '../zones.js';

export type RatesMmPerDay = Readonly<Record<Zone, number>>;

/** Two centuries: no date the calendar offers lies beyond, and Float32 lengths stay exact to 0.01 mm. */
const LONGEST_DAYS = 73_000;

/**
 * Length at every root after `days` of growth: exactly rate × days more at each (stored as Float32), by zone.
 * Says nothing of the longest a strand can become; that is for the growth room, which knows the person.
 *
 * @param lengthsMm length at every root in mm
 * @param zone index into ZONES at every root
 * @param ratesMmPerDay rate of each zone, 0 to 2 mm/day
 * @param days 0 to 73,000; fractions count
 * @param out written and returned if given, as long as `lengthsMm`
 * @throws EngineError NOT_A_NUMBER, OUT_OF_RANGE or UNKNOWN_ZONE
 */
export function growLengths(
  lengthsMm: Float32Array,
  zone: Uint8Array,
  ratesMmPerDay: RatesMmPerDay,
  days: number,
  out: Float32Array = new Float32Array(lengthsMm.length),
): Float32Array {
  requireNumber(days, 'days', 0, LONGEST_DAYS);
  const grownMm = Float64Array.from(
    ZONES,
    (name) => days * requireNumber(ratesMmPerDay[name], `ratesMmPerDay.${name}`, 0, 2),
  );
  for (let i = 0; i < lengthsMm.length; i += 1) {
    const added = grownMm[zone[i] ?? ZONES.length];
    if (added === undefined) {
      throw new EngineError('ENGINE.UNKNOWN_ZONE', `zone[${i}]`, `Root ${i} lies in no known zone.`);
    }
    out[i] = (lengthsMm[i] ?? 0) + added;
  }
  return out;
}

/** The same rate in every zone. */
export function evenRates(mmPerDay: number): RatesMmPerDay {
  return Object.fromEntries(ZONES.map((name) => [name, mmPerDay])) as Record<Zone, number>;
}
