import { EngineError, requireNumber } from '../errors.js';
import { daysBetween } from '../growth/index.js';
import { ZONES, type Zone } from '../zones.js';
import type { ZoneLeft } from './limits.js';

export interface LeftLengths {
  /** Throws ENGINE.IMPOSSIBLE for a zone whose length is not given. */
  readonly leftMm: (zone: Zone) => number;
  /** Days the zone had been growing on the day the window starts from; 0 for a zone cut that day, or not given. */
  readonly daysBefore: (zone: Zone) => number;
  /** Per zone, in the order of ZONES. */
  readonly leftSdMm: Float64Array;
}

/** What the zones were left at, and when, as look-ups. Throws EngineErrors naming the field. */
export function leftLengths(zones: readonly ZoneLeft[], cutOn: string): LeftLengths {
  const leftSdMm = new Float64Array(ZONES.length);
  const byZone = new Map<Zone, number>();
  const before = new Map<Zone, number>();
  for (const { zone, leftMm, leftSdMm: sd, leftOn } of zones) {
    if (!ZONES.includes(zone)) {
      throw new EngineError('ENGINE.UNKNOWN_ZONE', 'zones', `zone must be one of ${ZONES.join(', ')}.`);
    }
    byZone.set(zone, requireNumber(leftMm, 'leftMm', 0, 2000));
    leftSdMm[ZONES.indexOf(zone)] = requireNumber(sd, 'leftSdMm', 0, 200);
    if (leftOn !== undefined) before.set(zone, requireNumber(daysBetween(leftOn, cutOn), 'leftOn', 0, 3660));
  }
  return {
    leftSdMm,
    daysBefore: (zone) => before.get(zone) ?? 0,
    leftMm: (zone) => {
      const mm = byZone.get(zone);
      if (mm === undefined) {
        throw new EngineError(
          'ENGINE.IMPOSSIBLE',
          'zones',
          `A hold limit looks at the ${zone}, whose length is not given.`,
        );
      }
      return mm;
    },
  };
}
