import type { CutStep, Recorded, StepGeometry, StepInput, WholeFormula } from '../cuts/index.js';
import { FORMULA_METHODS, SECTION_DIRECTIONS, TECHNIQUES } from '../cuts/index.js';
import { ZONES, type Zone } from '../engine/zones.js';
import { lengthInBox, type Ruler } from './lengths.js';
import type { Typed } from './typed.js';
import { METHOD_WORDS, SECTION_WORDS, TECHNIQUE_WORDS, ZONE_WORDS } from './words.js';

export type Values = Readonly<Record<string, string>>;

/** The boxes of one step; a copied step is s1, s2 ..., one that was added n1, n2 ... */
const STEP_FIELD = /^step\.([sn]\d{1,3})$/;
const SMALLEST_STEP_MM = -50;
const LARGEST_STEP_MM = 50;

/** Keys of the steps in cutting order, which is the order of their boxes in the form. */
export function stepKeys(values: Values): string[] {
  return Object.keys(values).flatMap((field) => STEP_FIELD.exec(field)?.[1] ?? []);
}

/** The copied formula's step behind a key; undefined for one that was added. */
export function copiedStep(source: WholeFormula | undefined, key: string): CutStep | undefined {
  return key.startsWith('s') ? source?.steps[Number(key.slice(1)) - 1] : undefined;
}

function fieldsOf(key: string, values: Values): string[] {
  return Object.keys(values).filter((field) => field === `step.${key}` || field.startsWith(`step.${key}.`));
}

/** The boxes of a step, filled from the copied one; blank for a new one. */
export function stepValues(key: string, from: CutStep | undefined, ruler: Ruler): Record<string, string> {
  const name = (field: string) => `step.${key}.${field}`;
  const number = (value: number | null | undefined) => (value ? String(value) : '');
  const length = (mm: number | null | undefined) => lengthInBox(mm, ruler.units);
  return {
    [`step.${key}`]: '1',
    [name('zone')]: from?.zone ?? '',
    [name('method')]: from?.method ?? '',
    [name('section')]: from?.section ?? '',
    [name('elevationDeg')]: from?.elevationDeg == null ? '' : String(from.elevationDeg),
    [name('guideAt')]: from?.guideAt ?? '',
    [name('guideZone')]: from?.geometry?.guideZone ?? '',
    [name('overDirectedTo')]: from?.overDirectedTo ?? '',
    [name('overDirectedSections')]: number(from?.overDirectedSections),
    [name('fingerAngleDeg')]: number(from?.fingerAngleDeg),
    [name('lengthAtGuide')]: length(from?.lengthAtGuideMm),
    [name('endLength')]: length(from?.endLengthMm),
    [name('sectionDepth')]: length(from?.sectionDepthMm),
    [name('stepPerSection')]: from?.stepPerSectionMm ? length(from.stepPerSectionMm) : '',
    [name('technique')]: from?.technique ?? '',
    [name('tool')]: from?.tool ?? '',
    [name('notes')]: from?.notes ?? '',
  };
}

export type ReadStep = { readonly key: string; readonly step: StepInput };

/** Reads every step in the order of the form. What went into a box unchanged comes out exactly as it was stored. */
export function readSteps(
  typed: Typed,
  values: Values,
  source: WholeFormula | undefined,
  ruler: Ruler,
): ReadStep[] {
  return stepKeys(values).flatMap((key, i) => {
    const step = readStep(typed, values, key, i + 1, copiedStep(source, key), ruler);
    return step ? [{ key, step }] : [];
  });
}

function readStep(
  typed: Typed,
  values: Values,
  key: string,
  place: number,
  from: CutStep | undefined,
  ruler: Ruler,
): StepInput | undefined {
  const name = (field: string) => `step.${key}.${field}`;
  const zone = typed.choice(name('zone'), ZONES, `Step ${place}, zone`);
  const words = zone ? `Step ${place} (${ZONE_WORDS[zone]})` : `Step ${place}`;
  if (!zone) {
    const isBlank = fieldsOf(key, values).every(
      (field) => field === `step.${key}` || typed.text(field) === '',
    );
    if (!isBlank) typed.wrong(name('zone'), `${words}: choose the zone it cuts.`);
    return undefined;
  }
  const length = (
    field: string,
    label: string,
    stored: number | null | undefined,
    bounds?: [number, number],
  ) => typed.keptLengthMm(name(field), `${words}, ${label}`, ruler, stored, bounds);
  const method =
    typed.choice(name('method'), FORMULA_METHODS, `${words}, guide or method`) ?? 'travelling-guide';
  const isAsCopied = from?.zone === zone && from.method === method;
  return {
    zone,
    method,
    section: typed.choice(name('section'), SECTION_DIRECTIONS, `${words}, section`) ?? null,
    elevationDeg: typed.number(name('elevationDeg'), `${words}, elevation`, 0, 180) ?? null,
    guide: method === 'travelling-guide' ? 'travelling' : method === 'stationary-guide' ? 'stationary' : null,
    guideAt: typed.text(name('guideAt')) || null,
    geometry: geometryOf(
      isAsCopied ? from.geometry : null,
      typed.choice(name('guideZone'), ZONES, `${words}, guide taken from`),
    ),
    overDirectedTo: typed.choice(name('overDirectedTo'), ZONES, `${words}, over-direction`) ?? null,
    overDirectedSections:
      typed.number(name('overDirectedSections'), `${words}, sections back`, 0, 12, true) ?? 0,
    fingerAngleDeg: typed.number(name('fingerAngleDeg'), `${words}, cutting line`, -75, 75) ?? 0,
    lengthAtGuideMm: length('lengthAtGuide', 'length at the guide', from?.lengthAtGuideMm) ?? null,
    endLengthMm: length('endLength', 'ends at', from?.endLengthMm) ?? null,
    sectionDepthMm: length('sectionDepth', 'depth of a section', from?.sectionDepthMm, [1, 60]) ?? null,
    stepPerSectionMm:
      length('stepPerSection', 'longer each section by', from?.stepPerSectionMm, [
        SMALLEST_STEP_MM,
        LARGEST_STEP_MM,
      ]) ?? 0,
    technique: typed.choice(name('technique'), TECHNIQUES, `${words}, technique`) ?? 'club',
    tool: typed.text(name('tool')) || null,
    leftToGrow: typed.text(`done.${zone}`) === 'grow',
    notes: typed.text(name('notes')),
  };
}

/** Where the cutting line runs belongs to the zone and the method it was recorded for; the guide's zone is typed. */
function geometryOf(copied: StepGeometry | null, guideZone: Zone | undefined): StepGeometry | null {
  const { guideZone: _, ...rest } = copied ?? {};
  const geometry = { ...rest, ...(guideZone && { guideZone }) };
  return Object.keys(geometry).length === 0 ? null : geometry;
}

/** The form's values with one step put a place earlier or later. */
export function withStepMoved(values: Values, key: string, by: -1 | 1): Values {
  const keys = stepKeys(values);
  const at = keys.indexOf(key);
  const to = at + by;
  if (at < 0 || to < 0 || to >= keys.length) return values;
  keys.splice(to, 0, ...keys.splice(at, 1));
  const steps = keys.flatMap((one) => fieldsOf(one, values));
  const rest = Object.keys(values).filter((field) => !steps.includes(field));
  return Object.fromEntries([...rest, ...steps].map((field) => [field, values[field] ?? '']));
}

export function withoutStep(values: Values, key: string): Values {
  const gone = fieldsOf(key, values);
  return Object.fromEntries(Object.entries(values).filter(([field]) => !gone.includes(field)));
}

export function withNewStep(values: Values, ruler: Ruler): Values {
  const last = stepKeys(values).reduce(
    (most, key) => (key.startsWith('n') ? Math.max(most, Number(key.slice(1))) : most),
    0,
  );
  return { ...values, ...stepValues(`n${last + 1}`, undefined, ruler) };
}

type Summed = Pick<StepInput, 'method' | 'technique'> & Partial<Pick<StepInput, 'section' | 'elevationDeg'>>;

function summaryOf(step: Summed): string {
  return [
    step.section && SECTION_WORDS[step.section],
    step.elevationDeg != null && `${Math.round(step.elevationDeg)}°`,
    METHOD_WORDS[step.method],
    TECHNIQUE_WORDS[step.technique],
  ]
    .filter(Boolean)
    .join(', ');
}

/** One step as the page shows it around its boxes. */
export function stepForms(
  values: Values,
  errors: Values,
  refusal?: { readonly step: string; readonly words: string },
) {
  const keys = stepKeys(values);
  return keys.map((key, i) => {
    const value = (field: string) => values[`step.${key}.${field}`] ?? '';
    const zone = ZONES.find((one) => one === value('zone'));
    const technique = TECHNIQUES.find((one) => one === value('technique'));
    const method = FORMULA_METHODS.find((one) => one === value('method'));
    return {
      key,
      place: i + 1,
      zone: zone ? ZONE_WORDS[zone] : 'New step',
      grows: zone !== undefined && values[`done.${zone}`] === 'grow',
      summary:
        method && technique
          ? summaryOf({
              method,
              technique,
              section: SECTION_DIRECTIONS.find((one) => one === value('section')) ?? null,
              elevationDeg: value('elevationDeg') === '' ? null : Number(value('elevationDeg')),
            })
          : '',
      refused: refusal?.step === key ? refusal.words : '',
      isFirst: i === 0,
      isLast: i === keys.length - 1,
      open: !zone || Object.keys(errors).some((field) => field.startsWith(`step.${key}`)),
    };
  });
}

/** The key of the step that the engine counts as `number`: it skips those whose zone is left to grow. */
export function keyOfCutStep(steps: readonly ReadStep[], number: number): string | undefined {
  return steps.filter(({ step }) => !step.leftToGrow)[number - 1]?.key;
}

/** Steps as the engine takes them for a drawing. */
export function recordedSteps(steps: readonly ReadStep[]): Recorded['steps'] {
  return steps.map(({ step }) => ({
    ...step,
    section: step.section ?? null,
    elevationDeg: step.elevationDeg ?? null,
    geometry: step.geometry ?? null,
    overDirectedTo: step.overDirectedTo ?? null,
    overDirectedSections: step.overDirectedSections ?? 0,
    fingerAngleDeg: step.fingerAngleDeg ?? 0,
    lengthAtGuideMm: step.lengthAtGuideMm ?? null,
    endLengthMm: step.endLengthMm ?? null,
    sectionDepthMm: step.sectionDepthMm ?? null,
    stepPerSectionMm: step.stepPerSectionMm ?? 0,
    leftToGrow: step.leftToGrow ?? false,
  }));
}
