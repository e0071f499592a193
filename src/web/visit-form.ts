import type {
  CutStep,
  FormulaInput,
  MeasurementInput,
  StepInput,
  WholeFormula,
  ZoneNow,
} from '../cuts/index.js';
import { FORMULA_METHODS, MEASURING_TOOLS, SECTION_DIRECTIONS, TECHNIQUES } from '../cuts/index.js';
import { ZONES, type Zone } from '../engine/zones.js';
import type { Service } from '../salon/index.js';
import { lengthInBox, type Ruler } from './lengths.js';
import { moneyInBox, Typed } from './typed.js';
import { METHOD_WORDS, SECTION_WORDS, TECHNIQUE_WORDS, ZONE_WORDS } from './words.js';

/** What was done to a zone on this visit. */
export const DONE = ['cut', 'grow', 'not'] as const;

type Values = Record<string, string>;

/** One step's boxes: those of the copied formula by its place, and a blank one for each zone that has none. */
export type StepSlot = { readonly key: string; readonly zone: Zone; readonly from: CutStep | undefined };

export function stepSlots(source: WholeFormula | undefined): StepSlot[] {
  const copied = (source?.steps ?? []).map(
    (step, i): StepSlot => ({ key: `s${i + 1}`, zone: step.zone, from: step }),
  );
  const missing = ZONES.filter((zone) => !copied.some((slot) => slot.zone === zone));
  return [...copied, ...missing.map((zone): StepSlot => ({ key: zone, zone, from: undefined }))];
}

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

function doneAtFirst(zone: Zone, source: WholeFormula | undefined, service: Service): (typeof DONE)[number] {
  if (service.kind === 'tidy') return service.zones.includes(zone) ? 'cut' : 'not';
  if (service.kind !== 'full-cut') return 'not';
  if (!source) return 'cut';
  const leftToGrow = source.steps.some((step) => step.zone === zone && step.leftToGrow);
  return leftToGrow ? 'grow' : 'cut';
}

function stepValues({ key, from }: StepSlot, place: number, ruler: Ruler): Values {
  const name = (field: string) => `step.${key}.${field}`;
  const number = (value: number | null | undefined) =>
    value === null || value === undefined ? '' : String(value);
  return {
    [name('place')]: from ? String(place) : '',
    [name('method')]: from?.method ?? '',
    [name('section')]: from?.section ?? '',
    [name('elevationDeg')]: number(from?.elevationDeg),
    [name('guideAt')]: from?.guideAt ?? '',
    [name('overDirectedTo')]: from?.overDirectedTo ?? '',
    [name('overDirectedSections')]: from?.overDirectedSections ? number(from.overDirectedSections) : '',
    [name('fingerAngleDeg')]: from?.fingerAngleDeg ? number(from.fingerAngleDeg) : '',
    [name('lengthAtGuide')]: lengthInBox(from?.lengthAtGuideMm, ruler.units),
    [name('technique')]: from?.technique ?? '',
    [name('tool')]: from?.tool ?? '',
    [name('notes')]: from?.notes ?? '',
  };
}

/** The form's first values: the copied formula, ready to be changed where this visit differs. */
export function firstValues(
  source: WholeFormula | undefined,
  service: Service,
  ruler: Ruler,
  currency: string,
): Values {
  const values: Values = {
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
    const limit = source?.limits.find(
      (candidate) => candidate.zone === zone && candidate.kind === 'grown-by',
    );
    const done = doneAtFirst(zone, source, service);
    values[`arrival.${zone}`] = '';
    values[`done.${zone}`] = done;
    values[`left.${zone}`] = lengthInBox(done === 'cut' ? length?.wantedMm : length?.leftMm, ruler.units);
    values[`wanted.${zone}`] = done === 'grow' ? lengthInBox(length?.wantedMm, ruler.units) : '';
    values[`limit.${zone}`] = lengthInBox(limit?.value, ruler.units);
  }
  stepSlots(source).forEach((slot, i) => {
    Object.assign(values, stepValues(slot, i + 1, ruler));
  });
  return values;
}

function readStep(typed: Typed, slot: StepSlot, ruler: Ruler): (StepInput & { place: number }) | undefined {
  const name = (field: string) => `step.${slot.key}.${field}`;
  const words = ZONE_WORDS[slot.zone];
  const method = typed.choice(name('method'), FORMULA_METHODS, `${words}, guide or method`);
  const section = typed.choice(name('section'), SECTION_DIRECTIONS, `${words}, section`);
  const elevationDeg = typed.number(name('elevationDeg'), `${words}, elevation`, 0, 180);
  const technique = typed.choice(name('technique'), TECHNIQUES, `${words}, technique`);
  const untouched = !method && !section && elevationDeg === undefined && !technique;
  if (untouched && slot.from === undefined) return undefined;
  const place = typed.number(name('place'), `${words}, place in the order`, 1, 99, true);
  const chosen = method ?? 'travelling-guide';
  const { from } = slot;
  const done = typed.text(`done.${slot.zone}`);
  return {
    zone: slot.zone,
    method: chosen,
    section: section ?? null,
    elevationDeg: elevationDeg ?? null,
    guide: chosen === 'travelling-guide' ? 'travelling' : chosen === 'stationary-guide' ? 'stationary' : null,
    guideAt: typed.text(name('guideAt')) || null,
    overDirectedTo: typed.choice(name('overDirectedTo'), ZONES, `${words}, over-direction`) ?? null,
    overDirectedSections:
      typed.number(name('overDirectedSections'), `${words}, sections back`, 0, 12, true) ?? 0,
    fingerAngleDeg: typed.number(name('fingerAngleDeg'), `${words}, cutting line`, -75, 75) ?? 0,
    lengthAtGuideMm: typed.lengthMm(name('lengthAtGuide'), `${words}, length at the guide`, ruler) ?? null,
    geometry: from?.geometry ?? null,
    endLengthMm: from?.endLengthMm ?? null,
    sectionDepthMm: from?.sectionDepthMm ?? null,
    stepPerSectionMm: from?.stepPerSectionMm ?? 0,
    technique: technique ?? 'club',
    tool: typed.text(name('tool')) || null,
    // A zone that was not touched stays what it was.
    leftToGrow: done === 'grow' || (done === 'not' && from?.leftToGrow === true),
    notes: typed.text(name('notes')),
    place: place ?? 99,
  };
}

export type ReadVisit = {
  readonly input: Record<string, unknown>;
  /** The form's name for a field as the service names it. */
  readonly rename: (field: string) => string;
};

function readLengths(typed: Typed, source: WholeFormula | undefined, ruler: Ruler): FormulaInput['lengths'] {
  return ZONES.flatMap((zone): FormulaInput['lengths'] => {
    const words = ZONE_WORDS[zone];
    const done = typed.choice(`done.${zone}`, DONE, `${words}, what was done`) ?? 'not';
    const leftMm = typed.lengthMm(`left.${zone}`, `${words}, left at`, ruler);
    const wantedMm = typed.lengthMm(`wanted.${zone}`, `${words}, wanted`, ruler);
    const before = source?.lengths.find((length) => length.zone === zone);
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

function readLimits(typed: Typed, source: WholeFormula | undefined, zones: readonly Zone[], ruler: Ruler) {
  const kept = (source?.limits ?? [])
    .filter(({ kind }) => kind !== 'grown-by')
    .map(({ kind, zone, against, by, landmark, value, sd }) => ({
      kind,
      zone,
      against,
      by,
      landmark,
      value,
      sd,
    }));
  const grown = ZONES.flatMap((zone) => {
    const value = typed.lengthMm(`limit.${zone}`, `${ZONE_WORDS[zone]}, holds until grown by`, ruler);
    return value === undefined || !zones.includes(zone) ? [] : [{ kind: 'grown-by' as const, zone, value }];
  });
  return [...kept, ...grown];
}

/**
 * Reads the submitted form into what Checkout.complete takes. `source` is the formula it was copied from: what the
 * form does not show is kept from there. Throws INPUT.INVALID naming every box that could not be read.
 */
export function readVisit(
  values: Readonly<Values>,
  source: WholeFormula | undefined,
  service: Service,
  ruler: Ruler,
  currency: string,
): ReadVisit {
  const typed = new Typed(values);
  const tool = typed.choice('measuredWith', MEASURING_TOOLS, 'Measured with') ?? 'hand';
  const measurements = ZONES.flatMap((zone): MeasurementInput[] => {
    const lengthMm = typed.lengthMm(`arrival.${zone}`, `${ZONE_WORDS[zone]}, on arrival`, ruler);
    return lengthMm === undefined ? [] : [{ zone, lengthMm, tool }];
  });
  const lengths = readLengths(typed, source, ruler);
  const wasCut = lengths.some(({ cut }) => cut);
  const slots = stepSlots(source);
  const steps = slots
    .flatMap((slot) => {
      const step = readStep(typed, slot, ruler);
      return step ? [{ key: slot.key, step }] : [];
    })
    .sort((a, b) => a.step.place - b.step.place);
  const limits = readLimits(
    typed,
    source,
    lengths.map(({ zone }) => zone),
    ruler,
  );
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
    ...(source && { basedOnId: source.formula.id }),
    ...(wasCut && {
      formula: {
        name,
        notes: typed.text('formulaNotes'),
        steps: steps.map(({ step: { place: _, ...step } }) => step),
        lengths,
        links: (source?.links ?? []).map(({ zone, neighbour, kind }) => ({ zone, neighbour, kind })),
        limits,
      },
    }),
  };
  const rename = (field: string): string => {
    const at = /^(?:formula\.)?(measurements|lengths|steps|limits)\.(\d+)(?:\.(\w+))?$/.exec(field);
    const i = Number(at?.[2] ?? -1);
    switch (at?.[1]) {
      case 'measurements':
        return `arrival.${measurements[i]?.zone ?? ''}`;
      case 'lengths':
        return `${at[3] === 'wantedMm' ? 'wanted' : 'left'}.${lengths[i]?.zone ?? ''}`;
      case 'steps':
        return `step.${steps[i]?.key ?? ''}.${at[3] ?? 'method'}`;
      case 'limits':
        return `limit.${limits[i]?.zone ?? ''}`;
      default:
        return (
          { priceMinor: 'price', 'formula.name': 'formulaName', 'formula.notes': 'formulaNotes' }[field] ??
          field
        );
    }
  };
  return { input, rename };
}

/** What the page shows for each zone beside its boxes. */
export function zoneForms(
  source: WholeFormula | undefined,
  expected: readonly ZoneNow[],
  ruler: Ruler,
  wrongFields: readonly string[] = [],
) {
  const slots = stepSlots(source);
  const recorded = new Set((source?.lengths ?? []).map(({ zone }) => zone));
  return zonesInOrder(source).map((zone) => {
    const now = expected.find((candidate) => candidate.zone === zone)?.now;
    return {
      zone,
      name: ZONE_WORDS[zone],
      recorded: source === undefined || recorded.has(zone),
      expected: now ? `${lengthInBox(now.meanMm, ruler.units)} expected` : 'not known yet',
      /** Something wrong lies in the folded part. */
      open: wrongFields.some(
        (field) =>
          field === `wanted.${zone}` ||
          field === `limit.${zone}` ||
          slots.some((slot) => slot.zone === zone && field.startsWith(`step.${slot.key}.`)),
      ),
      otherLimits: (source?.limits ?? []).some((limit) => limit.zone === zone && limit.kind !== 'grown-by'),
      steps: slots
        .filter((slot) => slot.zone === zone)
        .map(({ key, from }) => ({ key, summary: from ? summaryOf(from) : 'not recorded yet' })),
    };
  });
}

function summaryOf(step: CutStep): string {
  return [
    step.section && SECTION_WORDS[step.section],
    step.elevationDeg !== null && `${Math.round(step.elevationDeg)}°`,
    METHOD_WORDS[step.method],
    TECHNIQUE_WORDS[step.technique],
  ]
    .filter(Boolean)
    .join(', ');
}
