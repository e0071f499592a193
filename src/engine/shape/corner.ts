import { requireNumber } from '../errors.js';

export interface StandingRoots {
  readonly count: number;
  readonly position: ArrayLike<number>;
  /** Outward unit normal at every root. */
  readonly normal: ArrayLike<number>;
  readonly areaMm2: ArrayLike<number>;
}

export interface CornerReading {
  /** Extra length in mm over the parietal ridge against the top, client's left and right; negative: rounded off more than round. */
  readonly leftMm: number;
  readonly rightMm: number;
  /** A corner the eye sees: 10 mm or more. */
  readonly left: boolean;
  readonly right: boolean;
}

const SEEN_MM = 10;
/** The ridge: surface normal 25 to 45 degrees above horizontal, around the 35 that define it. */
const RIDGE_NZ = [Math.sin((25 * Math.PI) / 180), Math.sin((45 * Math.PI) / 180)] as const;
const TOP_NZ = 0.94;
/** Half the length, front to back, of the band over the top that is looked at. */
const BAND_MM = 45;

/**
 * How much longer the hair over the parietal ridge is than on top, in a band 90 mm long across the head. Round layering
 * leaves about 0; square cutting leaves a corner (a plane 100 above the apex of the reference head: +32 at the ridge).
 *
 * @param lengthsMm length at every root, 0 to 3000
 */
export function cornerOverRidge(roots: StandingRoots, lengthsMm: ArrayLike<number>): CornerReading {
  const top = mean();
  const left = mean();
  const right = mean();
  for (let i = 0; i < roots.count; i += 1) {
    if (Math.abs(roots.position[3 * i + 1]!) > BAND_MM) continue;
    const nz = roots.normal[3 * i + 2]!;
    const x = roots.position[3 * i]!;
    const into = nz >= TOP_NZ ? top : nz < RIDGE_NZ[0] || nz > RIDGE_NZ[1] ? null : x < 0 ? left : right;
    into?.add(requireNumber(lengthsMm[i]!, `lengthsMm[${i}]`, 0, 3000), roots.areaMm2[i]!);
  }
  const leftMm = left.value() - top.value();
  const rightMm = right.value() - top.value();
  return { leftMm, rightMm, left: leftMm >= SEEN_MM, right: rightMm >= SEEN_MM };
}

function mean() {
  let sum = 0;
  let weight = 0;
  return {
    add(value: number, by: number) {
      sum += value * by;
      weight += by;
    },
    value: () => (weight > 0 ? sum / weight : 0),
  };
}
