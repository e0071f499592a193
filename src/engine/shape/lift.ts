import { standOffReach, standOffRise } from './stand-off.js';
import { STRAND_STEP_MM, type StrandSamples, type StrandTable } from './strands.js';
import { ROW_MM, type ThicknessGrid } from './thickness.js';

/** Far along a strand the stand-off no longer changes. */
const RISE_STEPS = 60;
/** Hair that has hung free of the head for this long lies in the middle of its layer, not on top of it. */
const FREE_MM = 80;

/**
 * Moves samples from their fall to where they are seen, in place: outward by the strand's stand-off and by the thickness
 * of the layer it lies on. Both are uncalibrated.
 */
export function liftSamples(
  table: StrandTable,
  samples: StrandSamples,
  lengthsMm: Float32Array,
  thickness: ThicknessGrid,
): void {
  const rise = standOffRise(STRAND_STEP_MM, RISE_STEPS);
  const { start, x, y, z, at } = samples;
  const { normal, column, start: first } = table;
  for (let root = 0; root < table.count; root += 1) {
    const begin = start[root]!;
    const end = start[root + 1]!;
    if (begin === end) continue;
    const reachMm = standOffReach(lengthsMm[root]!);
    const last = first[root + 1]! - 1;
    const lying = begin + last - first[root]!;
    for (let k = begin; k < end; k += 1) {
      const point = at[k]!;
      const layerMm =
        thickness.mm[(((thickness.topMm - z[k]!) / ROW_MM) | 0) * thickness.columns + column[point]!]!;
      const free = k <= lying ? 0 : Math.min(1, ((k - lying) * STRAND_STEP_MM) / FREE_MM);
      const step = k - begin;
      const lift = reachMm * rise[step < RISE_STEPS ? step : RISE_STEPS - 1]! + layerMm * (1 - 0.5 * free);
      x[k] = x[k]! + lift * normal[3 * point]!;
      y[k] = y[k]! + lift * normal[3 * point + 1]!;
      z[k] = z[k]! + lift * normal[3 * point + 2]!;
    }
  }
}
