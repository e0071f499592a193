import { EngineError, requireNumber } from '../errors.js';
import { ZONES, type Zone } from '../zones.js';

/** The part of a head's roots that readings by zone need. */
export interface ZonedRoots {
  readonly count: number;
  readonly areaMm2: ArrayLike<number>;
  /** Index into ZONES at every root. */
  readonly zone: Uint8Array;
}

/** Mean length of every zone in mm, weighted by scalp area; null where a zone has no root. */
export function zoneMeansMm(roots: ZonedRoots, lengthsMm: ArrayLike<number>): Record<Zone, number | null> {
  if (lengthsMm.length !== roots.count) {
    throw new EngineError(
      'ENGINE.OUT_OF_RANGE',
      'lengthsMm',
      `lengthsMm must hold ${roots.count} lengths, one per root.`,
    );
  }
  const sum = new Float64Array(ZONES.length);
  const area = new Float64Array(ZONES.length);
  for (let i = 0; i < roots.count; i += 1) {
    const zone = roots.zone[i]!;
    const areaMm2 = roots.areaMm2[i]!;
    sum[zone] = (sum[zone] ?? 0) + areaMm2 * requireNumber(lengthsMm[i]!, `lengthsMm[${i}]`, 0, 3000);
    area[zone] = (area[zone] ?? 0) + areaMm2;
  }
  return Object.fromEntries(
    ZONES.map((name, k) => [name, area[k]! > 0 ? sum[k]! / area[k]! : null]),
  ) as Record<Zone, number | null>;
}
