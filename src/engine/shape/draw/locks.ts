import type { Silhouette } from '../outline.js';
import { PROJECTIONS, type View } from '../view.js';
import { smoothLinePath } from './path.js';

/** One lock is drawn for every so many mm of drawing, in both directions. */
const SPACING_MM = 21;
const SHORT_SPACING_MM = 11;
/** Two locks end at least about this far apart, sideways. */
const APART_MM = 7;
/** Under this a strand is a short stroke and stands closer to its neighbours. */
const SHORT_MM = 25;
/** How squarely a strand must face the viewer to be drawn: the cosine between its outward direction and the eye. */
const FACING = 0.3;
const EVERY = 3;
const STRAIGHT_MM = 0.4;
/** Small drawings take locks this much farther apart. */
const FEW = 1.6;

/**
 * A few strands of a shape as one SVG path, spread evenly over the drawing, that show which way the hair lies and how long
 * it is. Each starts a little below its root and runs to its tip.
 */
export function locksPath({ shape, strands, seen }: Silhouette, view: View, few = false): string {
  const { uOfX, uOfY, depthOfX, depthOfY } = PROJECTIONS[view];
  const taken = new Set<number>();
  let path = '';
  // Roots are in order of height: from the top down, so that the long locks are laid first.
  for (let root = strands.count - 1; root >= 0; root -= 1) {
    const lengthMm = shape.lengthsMm[root]!;
    const first = seen.start[root]!;
    const count = seen.start[root + 1]! - first;
    if (lengthMm < 3) continue;
    const middle = first + (count >> 1);
    const normal = 3 * seen.at[middle]!;
    if (depthOfX * strands.normal[normal]! + depthOfY * strands.normal[normal + 1]! < FACING) continue;
    const spacing = (lengthMm < SHORT_MM ? SHORT_SPACING_MM : SPACING_MM) * (few ? FEW : 1);
    const u = uOfX * seen.x[middle]! + uOfY * seen.y[middle]!;
    const cell = Math.round(u / spacing + 200) * 1000 + Math.round(seen.z[middle]! / spacing + 200);
    const end = seen.start[root + 1]! - 1;
    const endCell =
      -Math.round((uOfX * seen.x[end]! + uOfY * seen.y[end]!) / APART_MM + 200) * 1000 -
      Math.round(seen.z[end]! / (2 * APART_MM) + 200);
    if (taken.has(cell) || taken.has(endCell)) continue;
    taken.add(cell).add(endCell);
    const points: number[] = [];
    const from = count > 4 ? 1 : 0;
    for (let k = from; k < count; k += EVERY) push(first + k);
    if ((count - 1 - from) % EVERY !== 0) push(first + count - 1);
    if (points.length === 2) points.push(points[0]!, points[1]! - Math.min(lengthMm, 4));
    path += smoothLinePath(withoutStraights(points), few ? 1 : 10);

    function push(at: number): void {
      points.push(uOfX * seen.x[at]! + uOfY * seen.y[at]!, seen.z[at]!);
    }
  }
  return path;
}

/** Leaves out points that lie on the line between their neighbours, as hanging hair has many. */
function withoutStraights(points: readonly number[]): number[] {
  const kept = [points[0]!, points[1]!];
  for (let i = 2; i < points.length - 2; i += 2) {
    const u = kept[kept.length - 2]!;
    const v = kept[kept.length - 1]!;
    const du = points[i + 2]! - u;
    const dv = points[i + 3]! - v;
    const aside = Math.abs(du * (points[i + 1]! - v) - dv * (points[i]! - u)) / Math.hypot(du, dv);
    if (aside > STRAIGHT_MM) kept.push(points[i]!, points[i + 1]!);
  }
  kept.push(points[points.length - 2]!, points[points.length - 1]!);
  return kept;
}
