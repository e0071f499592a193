import { type CutShape, cutShape, type WholeFormula } from '../src/cuts/index.js';
import { daysBetween, type GrowthProfile, projectLength } from '../src/engine/growth/index.js';
import { type HoldLimit, type RebookingWindow, rebookingWindow } from '../src/engine/plan/index.js';
import { engineLimit } from '../src/rebooking/index.js';
import type { Shape } from './shape-terms.js';
import { wanted } from './shapes.js';

/**
 * The salon's own rebooking windows, quickly. Cutting a head for every visit of two years would take minutes: here a
 * shape is cut once, as it is wanted and on the mean head, and what its ends may grow is carried over to every visit.
 * For a fresh cut on a mean head that is exact; growth that a tidy left standing counts one to one.
 */
export class Holds {
  private readonly fresh = new Map<string, { shape: CutShape; limits: readonly HoldLimit[] }>();

  windowAfter(whole: WholeFormula, shape: Shape, profile: GrowthProfile): RebookingWindow {
    const cutOn = whole.formula.cutOn ?? '';
    const zones = whole.lengths.map(({ zone, leftMm, leftSdMm, leftOn }) => {
      const days = daysBetween(leftOn, cutOn);
      if (days <= 0) return { zone, leftMm, leftSdMm };
      const { meanMm, sdMm } = projectLength(profile, { zone, leftMm, leftSdMm, days });
      return { zone, leftMm: meanMm, leftSdMm: sdMm };
    });
    const standing = whole.lengths.map(({ zone, wantedMm }, i) => ({
      zone,
      wantedMm,
      leftMm: zones[i]?.leftMm ?? wantedMm,
    }));
    const fresh = this.cutFresh(whole, shape);
    const limits = whole.limits.map((row, i): HoldLimit => {
      const limit = fresh.limits[i]!;
      if (limit.kind !== 'landmark' && limit.kind !== 'weight-line') {
        return engineLimit(row, standing, fresh.shape);
      }
      const zone = standing.find((length) => length.zone === limit.zone);
      const grownMm = zone ? Math.max(0, zone.leftMm - zone.wantedMm) : 0;
      return { ...limit, allowanceMm: Math.max(0, (limit.allowanceMm ?? 0) - grownMm) };
    });
    return rebookingWindow({ profile, cutOn, zones, limits });
  }

  private cutFresh(whole: WholeFormula, shape: Shape): { shape: CutShape; limits: readonly HoldLimit[] } {
    const key = `${shape.name} ${whole.limits.length}`;
    const known = this.fresh.get(key);
    if (known) return known;
    const lengths = wanted(shape);
    const cut = cutShape({}, { ...shape, lengths });
    const made = { shape: cut, limits: whole.limits.map((row) => engineLimit(row, lengths, cut)) };
    this.fresh.set(key, made);
    return made;
  }
}
