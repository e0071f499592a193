import { type CutShape, cutShape, type WholeFormula } from '../src/cuts/index.js';
import type { GrowthProfile } from '../src/engine/growth/index.js';
import { type HoldLimit, type RebookingWindow, rebookingWindow } from '../src/engine/plan/index.js';
import { engineLimit } from '../src/rebooking/index.js';

type Drawn = { readonly shape: CutShape; readonly limits: readonly HoldLimit[] };

/** By name and lengths: the demo's shapes never change their steps. */
const drawn = new Map<string, Drawn>();

/**
 * The salon's own rebooking window after a cut, quickly. Cutting a head for every visit of two years would take
 * minutes: here what a limit allows is read from the drawn ends once for each set of lengths, and on the mean head
 * for everybody.
 */
export function windowAfter(whole: WholeFormula, profile: GrowthProfile): RebookingWindow {
  return rebookingWindow({
    profile,
    cutOn: whole.formula.cutOn ?? '',
    zones: whole.lengths.map(({ zone, leftMm, leftSdMm, leftOn }) => ({ zone, leftMm, leftSdMm, leftOn })),
    limits: drawnOf(whole).limits,
  });
}

/** The formula cut on the mean head; once for all clients who wear it at these lengths. */
export function meanShape(whole: WholeFormula): CutShape {
  return drawnOf(whole).shape;
}

function drawnOf(whole: WholeFormula): Drawn {
  const { formula, lengths, limits } = whole;
  const key = [formula.name, limits.length, ...lengths.map(({ leftMm }) => leftMm)].join(' ');
  const known = drawn.get(key);
  if (known) return known;
  const shape = cutShape({}, whole);
  const made = { shape, limits: limits.map((row) => engineLimit(row, lengths, shape)) };
  drawn.set(key, made);
  return made;
}
