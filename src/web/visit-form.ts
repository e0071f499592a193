import type { FormulaInput, HoldMarkInput, MeasurementInput, WholeFormula, ZoneNow } from '../cuts/index.js';
import { HOLD_STATES, MEASURING_TOOLS } from '../cuts/index.js';
import { ZONES, type Zone } from '../engine/zones.js';
import type { Service } from '../salon/index.js';
import { lengthInBox, type Ruler } from './lengths.js';
import { moneyInBox, Typed } from './typed.js';
import { limitValues, type ReadLimit, readLimits } from './visit-limits.js';
import { type ReadStep, readSteps, stepValues, type Values } from './visit-steps.js';
import { ZONE_WORDS } from './words.js';

/** What was done to a zone on this visit. */
export const DONE = ['cut', 'grow', 'not'] as const;

/** Zones in the order in which the copied formula cuts them, then those it leaves out. */
export function zonesInOrder(source: WholeFormula | undefined): Zone[] {
  const recorded = new Set((source?.lengths ?? []).map(({ zone }) => zone));
  const cut = [...new Set((source?.steps ?? []).map(({ zone }) => zone))];
  const rest = ZONES.filter((zone) => !cut.includes(zone));
  return [
    ...cut,
    ...rest.filter((zone) => recorded.has(zone)),
    ...rest.filter((zone) => !recorded.has(zone)),
  ];
}

function doneAtFirst(
  zone: Zone,
  source: WholeFormula | undefined,
  service: Pick<Service, 'kind' | 'zones'>,
): (typeof DONE)[number] {
  if (service.kind === 'tidy') return service.zones.includes(zone) ? 'cut' : 'not';
  if (service.kind !== 'full-cut') return 'not';
  if (!source) return 'cut';
  const leftToGrow = source.steps.some((step) => step.zone === zone && step.leftToGrow);
  return leftToGrow ? 'grow' : 'cut';
}

/** The form's first values: the copied formula, ready to be changed where this visit differs. */
export function firstValues(
  source: WholeFormula | undefined,
  service: Pick<Service, 'kind' | 'zones' | 'priceMinor'>,
  ruler: Ruler,
  currency: string,
): Values {
  const values: Record<string, string> = {
    formulaName: source?.formula.name ?? '',
    formulaNotes: source?.formula.notes ?? '',
    basedOnId: source?.formula.id ?? '',
    measuredWith: 'hand',
    price: moneyInBox(service.priceMinor, currency),
    notes: '',
    productLine: '',
  };
  for (const zone of ZONES) {
    const length = source?.lengths.find((candidate) => candidate.zone === zone);
    const done = doneAtFirst(zone, source, service);
    values[`arrival.${zone}`] = '';
    values[`held.${zone}`] = '';
    values[`done.${zone}`] = done;
    values[`left.${zone}`] = lengthInBox(done === 'cut' ? length?.wantedMm : length?.leftMm, ruler.units);
    values[`wanted.${zone}`] = done === 'grow' ? lengthInBox(length?.wantedMm, ruler.units) : '';
  }
  source?.steps.forEach((step, i) => {
    Object.assign(values, stepValues(`s${i + 1}`, step, ruler));
  });
  source?.limits.forEach((limit, i) => {
    Object.assign(values, limitValues(`l${i + 1}`, limit, ruler));
  });
  return values;
}

function readLengths(typed: Typed, source: WholeFormula | undefined, ruler: Ruler): FormulaInput['lengths'] {
  return ZONES.flatMap((zone): FormulaInput['lengths'] => {
    const words = ZONE_WORDS[zone];
    const before = source?.lengths.find((length) => length.zone === zone);
    const done = typed.choice(`done.${zone}`, DONE, `${words}, what was done`) ?? 'not';
    const filledMm = done === 'cut' ? before?.wantedMm : before?.leftMm;
    const leftMm = typed.keptLengthMm(`left.${zone}`, `${words}, left at`, ruler, filledMm);
    const wantedMm = typed.keptLengthMm(`wanted.${zone}`, `${words}, wanted`, ruler, before?.wantedMm);
    if (done === 'cut') {
      if (leftMm === undefined) {
        // On a first visit a zone nobody says anything about is simply not recorded.
        if (before && typed.text(`left.${zone}`) === '')
          typed.wrong(`left.${zone}`, `${words}: write the length it was left at, or choose “not touched”.`);
        return [];
      }
      return [{ zone, leftMm, ...(wantedMm !== undefined && { wantedMm }), cut: true }];
    }
    const standsMm = leftMm ?? before?.leftMm;
    if (standsMm === undefined) return [];
    return [{ zone, leftMm: standsMm, wantedMm: wantedMm ?? before?.wantedMm ?? standsMm, cut: false }];
  });
}

/** The part of the form that is the shape as it stands when the client gets up. */
export type ReadCut = {
  readonly lengths: FormulaInput['lengths'];
  readonly steps: readonly ReadStep[];
  readonly measurements: readonly MeasurementInput[];
};

/** What cannot be read is told to `typed`. */
export function readCut(
  typed: Typed,
  values: Values,
  source: WholeFormula | undefined,
  ruler: Ruler,
): ReadCut {
  const tool = typed.choice('measuredWith', MEASURING_TOOLS, 'Measured with') ?? 'hand';
  const measurements = ZONES.flatMap((zone): MeasurementInput[] => {
    const lengthMm = typed.lengthMm(`arrival.${zone}`, `${ZONE_WORDS[zone]}, on arrival`, ruler);
    return lengthMm === undefined ? [] : [{ zone, lengthMm, tool }];
  });
  const lengths = readLengths(typed, source, ruler);
  return { measurements, lengths, steps: readSteps(typed, values, source, ruler) };
}

export type ReadVisit = {
  readonly input: Record<string, unknown>;
  readonly steps: readonly ReadStep[];
  /** The form's name for a field as the service names it. */
  readonly rename: (field: string) => string;
};

/** A limit on a zone without a length has nothing to hold. */
function requireLimitedZones(typed: Typed, limits: readonly ReadLimit[], { lengths }: ReadCut): void {
  for (const { key, limit } of limits) {
    for (const zone of [limit.zone, limit.against ?? limit.zone]) {
      if (lengths.some((length) => length.zone === zone)) continue;
      typed.wrong(
        `limit.${key}.zone`,
        `Hold limit: the ${ZONE_WORDS[zone].toLowerCase()} has no length recorded. Write one, or clear the limit’s number.`,
      );
    }
  }
}

/**
 * Reads the submitted form into what Checkout.complete takes. `source` is the formula it was copied from: what the
 * form does not show is kept from there. Throws INPUT.INVALID naming every box that could not be read.
 */
export function readVisit(
  values: Values,
  source: WholeFormula | undefined,
  service: Pick<Service, 'kind' | 'zones' | 'priceMinor'>,
  ruler: Ruler,
  currency: string,
): ReadVisit {
  const typed = new Typed(values);
  const cut = readCut(typed, values, source, ruler);
  const { measurements, lengths, steps } = cut;
  const wasCut = lengths.some((length) => length.cut);
  const marks = ZONES.flatMap((zone): HoldMarkInput[] => {
    const state = typed.choice(`held.${zone}`, HOLD_STATES, `${ZONE_WORDS[zone]}, how it had held`);
    return state ? [{ zone, state }] : [];
  });
  const limits = readLimits(typed, values, source, ruler);
  if (wasCut) requireLimitedZones(typed, limits, cut);
  const name = typed.text('formulaName');
  if (wasCut && name === '') typed.wrong('formulaName', 'Shape: give it a name, such as “stacked bob”.');
  const priceMinor = typed.moneyMinor('price', 'Price', currency);
  typed.finish();

  const productLine = typed.text('productLine');
  const input = {
    ...(priceMinor !== undefined && { priceMinor }),
    notes: typed.text('notes'),
    ...(service.kind === 'colour' && productLine !== '' && { productLine }),
    measurements,
    marks,
    ...(source && { basedOnId: source.formula.id }),
    ...(wasCut && {
      formula: {
        name,
        notes: typed.text('formulaNotes'),
        steps: steps.map(({ step }) => step),
        lengths,
        links: (source?.links ?? []).map(({ zone, neighbour, kind }) => ({ zone, neighbour, kind })),
        limits: limits.map(({ limit }) => limit),
      },
    }),
  };
  return { input, steps, rename: renamed(cut, limits, marks) };
}

const BOX_OF_STEP: Readonly<Record<string, string>> = {
  lengthAtGuideMm: 'lengthAtGuide',
  endLengthMm: 'endLength',
  sectionDepthMm: 'sectionDepth',
  stepPerSectionMm: 'stepPerSection',
};

function renamed(cut: ReadCut, limits: readonly ReadLimit[], marks: readonly HoldMarkInput[]) {
  return (field: string): string => {
    const at = /^(?:formula\.)?(measurements|marks|lengths|steps|limits)\.(\d+)(?:\.(\w+))?$/.exec(field);
    const i = Number(at?.[2] ?? -1);
    const part = at?.[3];
    switch (at?.[1]) {
      case 'measurements':
        return `arrival.${cut.measurements[i]?.zone ?? ''}`;
      case 'marks':
        return `held.${marks[i]?.zone ?? ''}`;
      case 'lengths':
        return `${part === 'wantedMm' ? 'wanted' : 'left'}.${cut.lengths[i]?.zone ?? ''}`;
      case 'steps': {
        const step = `step.${cut.steps[i]?.key ?? ''}`;
        return part === undefined ? step : `${step}.${BOX_OF_STEP[part] ?? part}`;
      }
      case 'limits':
        return `limit.${limits[i]?.key ?? ''}.${part === 'against' || part === 'zone' ? part : 'value'}`;
      default:
        return (
          { priceMinor: 'price', 'formula.name': 'formulaName', 'formula.notes': 'formulaNotes' }[field] ??
          field
        );
    }
  };
}

/** What the page shows for each zone beside its boxes; `held` are the zones whose hold can be judged. */
export function zoneForms(
  source: WholeFormula | undefined,
  expected: readonly ZoneNow[],
  ruler: Ruler,
  held: ReadonlySet<Zone>,
  { values, errors }: { readonly values: Values; readonly errors: Values },
) {
  const recorded = new Set((source?.lengths ?? []).map(({ zone }) => zone));
  return zonesInOrder(source).map((zone) => {
    const now = expected.find((candidate) => candidate.zone === zone)?.now;
    return {
      zone,
      name: ZONE_WORDS[zone],
      recorded: source === undefined || recorded.has(zone),
      expected: now ? `${lengthInBox(now.meanMm, ruler.units)} expected` : 'not known yet',
      marked: held.has(zone),
      /** A zone that is wanted longer, or something wrong, lies in the folded part. */
      open: (values[`wanted.${zone}`] ?? '') !== '' || errors[`wanted.${zone}`] !== undefined,
    };
  });
}
