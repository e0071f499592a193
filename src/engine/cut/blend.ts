import { ZONES, type Zone } from '../zones.js';
import type { Connection } from './formula.js';
import type { Scalp } from './scalp.js';

const WIDTH_MM = 20;
const COUNT = ZONES.length;

/**
 * Blends neighbouring zones: where hair on one side of a border is longer than on the other by more than a natural
 * fall would make it (1 mm a mm), the longer side is taken down to meet the shorter, fading out over the width of
 * the blend. Only takes hair off. `untouched` roots stay as they are. Disconnected pairs keep their step.
 */
export function blendZones(
  scalp: Scalp,
  connections: readonly Connection[],
  untouched: (root: number) => boolean,
  lengthMm: Float64Array,
): void {
  const width = widths(connections, scalp.head.scale);
  const { nearest, distanceMm, spacingMm } = scalp.neighbours;
  const { zone, count } = scalp.head.roots;
  const before = lengthMm.slice();
  for (let i = 0; i < count; i++) {
    const own = zone[i]!;
    let cut = 0;
    for (let other = 0; other < COUNT; other++) {
      const w = width[own * COUNT + other]!;
      // The first row stands half a spacing off the border, on either side.
      const off = Math.max(0, distanceMm[i * COUNT + other]! - 1.5 * spacingMm);
      // Too far off, without a neighbour there, or disconnected.
      if (off >= w) continue;
      const j = nearest[i * COUNT + other]!;
      const facing = nearest[j * COUNT + own]!;
      const jump = before[facing]! - before[j]! - distanceMm[j * COUNT + own]!;
      cut = Math.max(cut, jump * (1 - off / w));
    }
    if (cut > 0 && !untouched(i)) lengthMm[i] = before[i]! - cut;
  }
}

/** Width of the blend in mm for every pair of zones; 0 where they are disconnected. */
function widths(connections: readonly Connection[], scale: number): Float64Array {
  const width = new Float64Array(COUNT * COUNT).fill(WIDTH_MM * scale);
  for (const { between, join, widthMm } of connections) {
    const [a, b] = between.map((zone: Zone) => ZONES.indexOf(zone)) as [number, number];
    const mm = join === 'disconnected' ? 0 : (widthMm ?? WIDTH_MM) * scale;
    width[a * COUNT + b] = mm;
    width[b * COUNT + a] = mm;
  }
  return width;
}
