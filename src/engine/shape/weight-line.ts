import { EngineError, requireNumber } from '../errors.js';
import { ZONES, type Zone } from '../zones.js';
import type { HairShape } from './tips.js';

/** Height in mm of the window in which the most hair is sought. */
export const WEIGHT_WINDOW_MM = 10;
/** Under this part of the hair in the fullest window the eye finds no line. */
export const WEIGHT_LINE_SHARE = 0.15;

const BIN_MM = 0.1;
const EVEN_WIDTH = Math.sqrt(12);
const WINDOW_BINS = Math.round(WEIGHT_WINDOW_MM / BIN_MM);
/** Tips lie between a fringe on end and hair to the knee; anything outside is not a head. */
const REACH_MM = 3000;

/** The 10 mm of height in which the most hair ends. */
export interface WeightWindow {
  /** Height in mm of the middle of the tips inside the window, weighted. */
  readonly zMm: number;
  readonly lowMm: number;
  readonly highMm: number;
  /** Part of all hair, 0 to 1, that ends inside the window. */
  readonly share10: number;
}

/** Where a graduated section ends: its highest root and the length there. */
export interface GraduationTop {
  readonly zTopMm: number;
  readonly lengthMm: number;
}

export interface WeightLine extends WeightWindow {
  /**
   * `graduation`: read from the top of the graduated section; `window`: where most hair ends;
   * `none`: the ends are spread so evenly that no line shows (share10 under 0.15).
   */
  readonly kind: 'graduation' | 'window' | 'none';
  /** Height of the line as a stylist would point at it, in mm; null when there is none. */
  readonly lineZMm: number | null;
}

/**
 * The 10 mm window that holds the most hair.
 *
 * @param tipZMm height of every tip in mm, -3000 to 3000
 * @param weight hair at every tip (area of scalp, number of hairs: any unit), none negative, not all 0
 * @param spreadMm standard deviation in mm of the tips of one root after point cutting or slicing; one figure or one
 *   per root. The longest hairs keep their length, the others end evenly up to √12 times as much higher.
 * @throws EngineError NOT_A_NUMBER, OUT_OF_RANGE, or IMPOSSIBLE when there is no hair to weigh
 */
export function weightWindow(
  tipZMm: ArrayLike<number>,
  weight: ArrayLike<number>,
  spreadMm: number | ArrayLike<number> = 0,
): WeightWindow {
  const bins = binTips(tipZMm, weight, spreadMm);
  const { mass, total } = bins;
  let held = 0;
  let most = 0;
  let end = 0;
  for (let i = 0; i < mass.length; i += 1) {
    held += mass[i] ?? 0;
    if (i >= WINDOW_BINS) held -= mass[i - WINDOW_BINS] ?? 0;
    // The margin keeps rounding from moving the window along hair that is spread perfectly evenly.
    if (held > most + total * 1e-12) {
      most = held;
      end = i;
    }
  }
  let moment = 0;
  let inside = 0;
  const first = Math.max(0, end - WINDOW_BINS + 1);
  for (let i = first; i <= end; i += 1) {
    inside += mass[i] ?? 0;
    moment += (mass[i] ?? 0) * (i + 0.5);
  }
  const highMm = bins.lowMm + (end + 1) * BIN_MM;
  return {
    zMm: bins.lowMm + (moment / inside) * BIN_MM,
    lowMm: highMm - WEIGHT_WINDOW_MM,
    highMm,
    share10: Math.min(1, most / total),
  };
}

/**
 * The fullest window of some zones of a shape, weighed by scalp area; of the crown, back and nape unless others are named.
 * Zones shaved bare have a share of 0, and so no line.
 *
 * @param spreadMm as for weightWindow
 * @throws EngineError as weightWindow does
 */
export function weightWindowOf(
  shape: HairShape,
  zones: readonly Zone[] = ['crown', 'back', 'nape'],
  spreadMm: number | ArrayLike<number> = 0,
): WeightWindow {
  const { roots } = shape.head;
  const asked = ZONES.map((zone) => zones.includes(zone));
  const tipZMm = new Float32Array(roots.count);
  const weight = new Float64Array(roots.count);
  let hair = 0;
  for (let root = 0; root < roots.count; root += 1) {
    tipZMm[root] = shape.tipsMm[3 * root + 2]!;
    // Bare skin has no ends.
    weight[root] = asked[roots.zone[root]!] && shape.lengthsMm[root]! > 0 ? roots.areaMm2[root]! : 0;
    hair += weight[root]!;
  }
  if (hair === 0) return { zMm: 0, lowMm: 0, highMm: 0, share10: 0 };
  return weightWindow(tipZMm, weight, spreadMm);
}

/** The line itself: of a graduated section from its top, z = z_top - L(z_top); otherwise from the fullest window. */
export function weightLine(window: WeightWindow, top?: GraduationTop): WeightLine {
  if (top) {
    requireNumber(top.zTopMm, 'zTopMm', -REACH_MM, REACH_MM);
    requireNumber(top.lengthMm, 'lengthMm', 0, REACH_MM);
    return { ...window, kind: 'graduation', lineZMm: top.zTopMm - top.lengthMm };
  }
  return window.share10 < WEIGHT_LINE_SHARE
    ? { ...window, kind: 'none', lineZMm: null }
    : { ...window, kind: 'window', lineZMm: window.zMm };
}

function binTips(
  tipZMm: ArrayLike<number>,
  weight: ArrayLike<number>,
  spreadMm: number | ArrayLike<number>,
): { lowMm: number; mass: Float64Array; total: number } {
  // An even spread over a width w has the standard deviation w/√12.
  const spreadAt = (i: number) => EVEN_WIDTH * (typeof spreadMm === 'number' ? spreadMm : (spreadMm[i] ?? 0));
  let low = Infinity;
  let high = -Infinity;
  let total = 0;
  for (let i = 0; i < tipZMm.length; i += 1) {
    const w = requireNumber(weight[i] ?? Number.NaN, 'weight', 0, Number.MAX_VALUE);
    if (w === 0) continue;
    const z = requireNumber(tipZMm[i] ?? Number.NaN, 'tipZMm', -REACH_MM, REACH_MM);
    const top = z + requireNumber(spreadAt(i), 'spreadMm', 0, REACH_MM);
    if (z < low) low = z;
    if (top > high) high = top;
    total += w;
  }
  if (total === 0)
    throw new EngineError('ENGINE.IMPOSSIBLE', 'weight', 'There is no hair here to find a line in.');

  // Each root spreads its weight evenly over its bins; written as differences, summed once.
  const mass = new Float64Array(Math.ceil((high - low) / BIN_MM) + 2);
  for (let i = 0; i < tipZMm.length; i += 1) {
    const w = weight[i] ?? 0;
    if (w === 0) continue;
    const from = Math.floor(((tipZMm[i] ?? 0) - low) / BIN_MM);
    const to = Math.floor(((tipZMm[i] ?? 0) + spreadAt(i) - low) / BIN_MM);
    const each = w / (to - from + 1);
    mass[from] = (mass[from] ?? 0) + each;
    mass[to + 1] = (mass[to + 1] ?? 0) - each;
  }
  for (let i = 1; i < mass.length; i += 1) mass[i] = Math.max(0, (mass[i] ?? 0) + (mass[i - 1] ?? 0));
  return { lowMm: low, mass, total };
}
