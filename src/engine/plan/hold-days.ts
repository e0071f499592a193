import { type GrowthProfile, zoneRate } from '../growth/index.js';
import { ZONES, type Zone } from '../zones.js';
import { leftLengths } from './left-lengths.js';
import { type HoldLimit, limitZone, type ZoneLeft } from './limits.js';
import { marginOf } from './margins.js';

export interface ZoneHold {
  readonly zone: Zone;
  /** Whole days after being cut that the zone is expected within every limit of its own. */
  readonly holdDays: number;
  readonly limit: HoldLimit;
  readonly growthMmPerDay: number;
}

/** Holds count from the cut, whenever it is. */
const ANY_DAY = '2000-01-01';
/** Growth within this part of a mm of the limit counts as within: a hold of 34.9999 days is one of 35. */
const ROUNDING_MM = 1e-6;

/**
 * How long each zone is expected to hold after it is cut back to the length it was left at, at its mean rate.
 *
 * A contrast counts for its shorter zone. Both zones grow from one day on where no tidy cuts the longer one alone;
 * where one does, the longer one is taken at its cut length, the worst it can be. Root bands are left out: no haircut
 * narrows them. Zones whose limits are never reached are left out too.
 * Throws ENGINE.IMPOSSIBLE for a limit whose zone has no length.
 */
export function zoneHolds(input: {
  readonly profile: GrowthProfile;
  readonly zones: readonly ZoneLeft[];
  readonly limits: readonly HoldLimit[];
  readonly tidies: readonly { readonly zones: readonly Zone[] }[];
}): ZoneHold[] {
  const left = leftLengths(
    input.zones.map(({ zone, leftMm, leftSdMm }) => ({ zone, leftMm, leftSdMm })),
    ANY_DAY,
  );
  const holds = new Map<Zone, ZoneHold>();
  for (const limit of input.limits) if (limit.kind !== 'root-band') left.leftMm(limitZone(limit));
  for (const limit of input.limits) {
    if (limit.kind === 'root-band') continue;
    const zone = limitZone(limit);
    const margin = marginOf(limit, ANY_DAY, left);
    const own = zoneRate(input.profile, zone).meanMmPerDay;
    const cutAlone =
      limit.kind === 'contrast' &&
      input.tidies.some(({ zones }) => zones.includes(limit.against) && !zones.includes(zone));
    const other =
      margin.z2 < 0 || cutAlone
        ? 0
        : margin.a2 * zoneRate(input.profile, ZONES[margin.z2] as Zone).meanMmPerDay;
    const loss = margin.a1 * own + other;
    if (loss <= 0 && margin.c >= 0) continue;
    const holdDays = margin.c < 0 ? -1 : Math.floor((margin.c + ROUNDING_MM) / loss);
    if (holdDays < (holds.get(zone)?.holdDays ?? Infinity)) {
      holds.set(zone, { zone, holdDays, limit, growthMmPerDay: own });
    }
  }
  return ZONES.flatMap((zone) => holds.get(zone) ?? []);
}
