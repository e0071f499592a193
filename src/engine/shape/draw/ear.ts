import type { Silhouette } from '../outline.js';
import { STRAND_STEP_MM } from '../strands.js';
import { PROJECTIONS, type View } from '../view.js';

const BIN_MM = 4;
/** The ear as drawn, on the mean head: from behind to before it, its top and its lobe. */
const EAR = { backMm: -34, frontMm: 10, topMm: -10, lobeMm: -72 } as const;
/** Hair that grows behind the ear lies behind it; these grow above or before it and fall over it. */
const ABOVE_ROOT_MM = -16;

/**
 * The edge below which an ear shows, as u, v pairs in mm from the viewer's left to right; null where it is covered whole.
 * Only profiles have one.
 */
export function earEdge({ shape, strands, seen }: Silhouette, view: View): number[] | null {
  const { scale, roots } = shape.head;
  const { uOfY, depthOfX } = PROJECTIONS[view];
  const bins = Math.ceil((EAR.frontMm - EAR.backMm) / BIN_MM) + 1;
  const edge = new Float64Array(bins).fill(EAR.topMm * scale);
  for (let root = 0; root < strands.count; root += 1) {
    if (roots.position[3 * root + 2]! < ABOVE_ROOT_MM * scale) continue;
    const end = seen.start[root + 1]!;
    for (let k = seen.start[root]!; k < end; k += 1) {
      const z = seen.z[k]!;
      if (z > EAR.topMm * scale || depthOfX * seen.x[k]! < 0) continue;
      const bin = Math.round((seen.y[k]! / scale - EAR.backMm) / BIN_MM);
      if (bin >= 0 && bin < bins) edge[bin] = Math.min(edge[bin]!, z - STRAND_STEP_MM / 2);
    }
  }
  const calm = edge.map((z, i) => (edge[Math.max(0, i - 1)]! + 2 * z + edge[Math.min(bins - 1, i + 1)]!) / 4);
  if (calm.every((z) => z < EAR.lobeMm * scale)) return null;
  const along = Array.from(calm, (z, i) => ({ u: uOfY * (EAR.backMm + i * BIN_MM) * scale, z }));
  return along.sort((a, b) => a.u - b.u).flatMap(({ u, z }) => [u, z]);
}
