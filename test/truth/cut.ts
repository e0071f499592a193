import { tautString } from '../../src/engine/cut/index.js';
import { buildHead } from '../../src/engine/head/index.js';
import {
  arcToPlane,
  buildFallTable,
  daysToMultiply,
  evenRates,
  growShape,
  hairShape,
  landmarkReadings,
} from '../../src/engine/shape/index.js';
import { weightWindow } from '../../src/engine/shape/weight-line.js';
import type { TruthRow } from './row.js';

const DEGREE = Math.PI / 180;
const REFERENCE_MM_PER_DAY = 0.35;

/** A stationary guide 100 mm above the apex of a ball of 90 mm: chord, or tangent and arc. */
function strings(): TruthRow[] {
  const leave = Math.acos(90 / 190);
  return [15, 30, 45, 60, 90, 110].map((degrees) => {
    const t = degrees * DEGREE;
    return {
      what: `length to a guide 100 above a ball of 90, root at ${degrees}°, mm`,
      source: 'closed form: chord √(R²+D²−2RD cos t) to the tangent point, then tangent and arc',
      theirs:
        t <= leave
          ? Math.sqrt(90 ** 2 + 190 ** 2 - 2 * 90 * 190 * Math.cos(t))
          : Math.sqrt(190 ** 2 - 90 ** 2) + 90 * (t - leave),
      ours: tautString(90, 90, 90, 90 * Math.sin(t), 0, 90 * Math.cos(t), 0, 0, 190),
      tolerance: 1e-9,
    };
  });
}

export function cutTruths(): TruthRow[] {
  const head = buildHead();
  const fall = buildFallTable(head);
  const plane = { z0Mm: head.landmarks.trichion.z - 56.7, forward: 0, right: 0 };
  const toBrow = hairShape(
    head,
    fall,
    Float32Array.from({ length: fall.count }, (_, root) => Math.max(0, arcToPlane(fall, root, plane))),
  );
  const lid = landmarkReadings(toBrow).find(
    ({ zone, landmark }) => zone === 'fringe' && landmark === 'upper-lid',
  );
  const later = growShape(toBrow, evenRates(REFERENCE_MM_PER_DAY), 42);
  const drop = landmarkReadings(later).find(
    ({ zone, landmark }) => zone === 'fringe' && landmark === 'upper-lid',
  );
  const tips = Array.from({ length: 10_001 }, (_, i) => -i / 100);
  const spread = weightWindow(
    tips,
    tips.map(() => 1),
  );
  return [
    ...strings(),
    {
      what: 'fringe cut at the brow: days until it reaches the upper lid',
      source: 'arithmetic: lid 13 mm below the brow, 13 / 0.35',
      theirs: 13 / REFERENCE_MM_PER_DAY,
      ours: (lid?.growthMm ?? Number.NaN) / REFERENCE_MM_PER_DAY,
      tolerance: 1,
    },
    {
      what: 'ends of that fringe six weeks later: lower by, mm',
      source: 'arithmetic: 42 × 0.35, hair that hangs free',
      theirs: 14.7,
      ours: (lid?.aboveMm ?? Number.NaN) - (drop?.aboveMm ?? Number.NaN),
      tolerance: 0.5,
    },
    {
      what: 'days until a nape of 6 mm is twice as long',
      source: 'arithmetic: 6 / 0.35',
      theirs: 6 / REFERENCE_MM_PER_DAY,
      ours: daysToMultiply(6, REFERENCE_MM_PER_DAY),
      tolerance: 1e-9,
    },
    {
      what: 'share of ends in the fullest 10 mm, spread evenly over 100 mm',
      source: 'closed form: 10 / 100',
      theirs: 0.1,
      ours: spread.share10,
      tolerance: 0.002,
    },
  ];
}
