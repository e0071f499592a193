import { EngineError } from '../errors.js';
import type { Head } from '../head/index.js';
import { type FallTable, pointAlong } from './fall.js';
import { growLengths, type RatesMmPerDay } from './grow.js';

/** Longer hair is not hair but a slip of the pen. */
const LONGEST_MM = 2000;

/** A head with hair of a certain length at every root, and where that hair ends. */
export interface HairShape {
  readonly head: Head;
  readonly fall: FallTable;
  readonly lengthsMm: Float32Array;
  /** x, y, z of every tip in mm, hair lying flat along its fall. */
  readonly tipsMm: Float32Array;
}

/**
 * The shape of hair cut to `lengthsMm`, one per root, 0 to 2000.
 *
 * @throws EngineError NOT_A_NUMBER or OUT_OF_RANGE naming the root
 */
export function hairShape(head: Head, fall: FallTable, lengthsMm: Float32Array): HairShape {
  if (lengthsMm.length !== fall.count || fall.count !== head.roots.count) {
    throw new EngineError(
      'ENGINE.OUT_OF_RANGE',
      'lengthsMm',
      `lengthsMm must hold ${fall.count} lengths, one per root.`,
    );
  }
  for (let root = 0; root < lengthsMm.length; root += 1) {
    const lengthMm = lengthsMm[root]!;
    // Written so that NaN fails too.
    if (!(lengthMm >= 0 && lengthMm <= LONGEST_MM)) {
      throw new EngineError(
        Number.isNaN(lengthMm) ? 'ENGINE.NOT_A_NUMBER' : 'ENGINE.OUT_OF_RANGE',
        `lengthsMm[${root}]`,
        `The length at root ${root} must lie between 0 and ${LONGEST_MM} mm.`,
      );
    }
  }
  return { head, fall, lengthsMm, tipsMm: moveTips(fall, lengthsMm) };
}

/**
 * The same head after `days` of growth: every strand exactly rate × days longer, its tip that much farther along its
 * own fall line. Nothing is computed anew.
 *
 * @throws EngineError as growLengths does, or OUT_OF_RANGE where hair would pass 2 m
 */
export function growShape(shape: HairShape, ratesMmPerDay: RatesMmPerDay, days: number): HairShape {
  return hairShape(
    shape.head,
    shape.fall,
    growLengths(shape.lengthsMm, shape.head.roots.zone, ratesMmPerDay, days),
  );
}

function moveTips(fall: FallTable, lengthsMm: Float32Array): Float32Array {
  const tips = new Float32Array(3 * fall.count);
  for (let root = 0; root < fall.count; root += 1) {
    pointAlong(fall, root, lengthsMm[root]!, tips, 3 * root);
  }
  return tips;
}
