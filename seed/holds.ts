import { cutShape, type WholeFormula } from '../src/cuts/index.js';
import type { GrowthProfile } from '../src/engine/growth/index.js';
import { type HoldLimit, type RebookingWindow, rebookingWindow } from '../src/engine/plan/index.js';
import { engineLimit } from '../src/rebooking/index.js';

/** By name and lengths: the demo's shapes never change their steps. */
const known = new Map<string, readonly HoldLimit[]>();

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
    limits: limitsOf(whole),
  });
}

function limitsOf(whole: WholeFormula): readonly HoldLimit[] {
  const { formula, lengths, limits } = whole;
  const key = [formula.name, limits.length, ...lengths.map(({ leftMm }) => leftMm)].join(' ');
  const before = known.get(key);
  if (before) return before;
  const shape = cutShape({}, whole);
  const made = limits.map((row) => engineLimit(row, lengths, shape));
  known.set(key, made);
  return made;
}
