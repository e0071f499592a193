import { EngineError, requireNumber } from '../errors.js';
import { ZONES, type Zone } from '../zones.js';
import type { ZoneLeft } from './limits.js';

/** The lengths zones were left at, as a lookup that throws ENGINE.IMPOSSIBLE where one is asked for that is not given. */
export function leftLengths(zones: readonly ZoneLeft[]): {
  leftMm: (zone: Zone) => number;
  leftSdMm: Float64Array;
} {
  const leftSdMm = new Float64Array(ZONES.length);
  const byZone = new Map<Zone, number>();
  for (const { zone, leftMm, leftSdMm: sd } of zones) {
    byZone.set(zone, requireNumber(leftMm, 'leftMm', 0, 2000));
    leftSdMm[ZONES.indexOf(zone)] = requireNumber(sd, 'leftSdMm', 0, 200);
  }
  return {
    leftSdMm,
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
