import type { WholeFormula } from '../src/cuts/index.js';
import type { Calendar, Day } from './calendar.js';
import type { Dice } from './dice.js';
import type { ZoneHair } from './life.js';
import type { Rows } from './rows.js';
import type { Shape } from './shape-terms.js';
import { wanted } from './shapes.js';

export type FormulaPlace = {
  readonly salonId: string;
  readonly clientId: string | null;
  readonly basedOnId: string | null;
  /** Day of the cut; for a house formula the day it was written down. */
  readonly day: Day;
  readonly madeAt: number;
};

/** Writes a shape down as a formula: of the house, or as it stands on a client's head after a cut. */
export function writeFormula(
  rows: Rows,
  calendar: Calendar,
  dice: Dice,
  shape: Shape,
  place: FormulaPlace,
  hair?: ReadonlyMap<string, ZoneHair>,
): WholeFormula {
  const { salonId, clientId, basedOnId, day, madeAt } = place;
  const formulaId = dice.id(madeAt);
  const own = () => ({ id: dice.id(madeAt), formulaId });
  const whole: WholeFormula = {
    formula: {
      id: formulaId,
      version: 1,
      salonId,
      clientId,
      basedOnId,
      name: shape.name,
      notes: clientId === null ? shape.notes : '',
      cutOn: clientId === null ? null : calendar.date(day),
    },
    steps: shape.steps.map((step, i) => ({ ...own(), position: i + 1, ...step })),
    lengths: wanted(shape).map(({ zone, leftMm, leftSdMm, wantedMm }) => {
      const stands = hair?.get(zone) ?? { leftMm, leftSdMm, leftOn: day };
      return {
        ...own(),
        zone,
        leftMm: stands.leftMm,
        leftOn: calendar.date(stands.leftOn),
        leftSdMm: stands.leftSdMm,
        wantedMm,
      };
    }),
    links: shape.links.map((link) => ({ ...own(), ...link })),
    limits: shape.limits.map((limit) => ({ ...own(), ...limit })),
  };
  rows.formulas.push(whole.formula);
  rows.steps.push(...whole.steps);
  rows.lengths.push(...whole.lengths);
  rows.links.push(...whole.links);
  rows.limits.push(...whole.limits);
  return whole;
}
