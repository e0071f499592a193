import {
  CONSENT_MATTERS,
  CONTRAINDICATIONS,
  type ConsentGiven,
  type ConsentMatter,
  type ConsentWay,
  type Consultation,
  type ContraindicationKind,
  DENSITIES,
  GROWTH_PATTERNS,
  type GrowthPattern,
  HAIR_TEXTURES,
  type HealthFacts,
  SCALP_OBSERVATIONS,
  type ScalpObservation,
  WAVES,
} from '../consultations/index.js';
import { type Spoken, shortDay } from './days.js';
import { optionsOf } from './words.js';

const PATTERN_WORDS: Record<GrowthPattern, string> = {
  'whorl-left': 'whorl turning left',
  'whorl-middle': 'whorl in the middle',
  'whorl-right': 'whorl turning right',
  'double-whorl': 'double whorl',
  'cowlick-at-front': 'cowlick at the front',
  'widows-peak': 'widow’s peak',
  'nape-grows-up': 'nape grows up',
  'nape-grows-to-left': 'nape grows to the left',
  'nape-grows-to-right': 'nape grows to the right',
};

const CONTRAINDICATION_WORDS: Record<ContraindicationKind, string> = {
  'colour-reaction': 'A reaction to colouring, ever',
  'black-henna-reaction': 'A reaction to a black-henna tattoo, ever',
  allergy: 'Allergies',
  'skin-condition': 'A skin condition',
  medicine: 'Medicines',
  'recent-treatment': 'A treatment not long ago',
  other: 'Anything else that speaks against a service',
};

const MATTER_WORDS: Record<ConsentMatter, string> = {
  cut: 'The cut',
  colour: 'Colour',
  'skin-test': 'A skin test',
  photographs: 'Photographs',
  'health-notes': 'Keeping health notes',
};

const WAY_WORDS: Record<ConsentWay, string> = {
  spoken: 'spoken',
  'in-writing': 'in writing',
  signed: 'signed',
};

const words = (values: readonly string[]) => optionsOf(Object.fromEntries(values.map((one) => [one, one])));

/** What the form offers to choose from. */
export const CONSULTATION_CHOICES = {
  densities: words(DENSITIES),
  textures: words(HAIR_TEXTURES),
  waves: words(WAVES),
  patterns: optionsOf(PATTERN_WORDS),
  observations: words(SCALP_OBSERVATIONS),
  contraindications: optionsOf(CONTRAINDICATION_WORDS),
  matters: optionsOf(MATTER_WORDS),
  answers: [
    ...optionsOf(WAY_WORDS).map(({ value, label }) => ({ value: `yes:${value}`, label: `agreed, ${label}` })),
    ...optionsOf(WAY_WORDS).map(({ value, label }) => ({
      value: `no:${value}`,
      label: `declined, ${label}`,
    })),
  ],
};

const PLAIN = [
  'staffId',
  'visitId',
  'heldOn',
  'wantedShape',
  'wantedFormulaId',
  'why',
  'dailyEffortMinutes',
  'dailyEffort',
  'density',
  'texture',
  'wave',
  'hairNotes',
  'notes',
] as const;

/** A new consultation's form: the hair as the last one found it, everything else open. */
export function firstConsultation(
  last: Consultation | undefined,
  staffId: string,
  heldOn: string,
): Record<string, string> {
  const open = Object.fromEntries(PLAIN.map((name) => [name, '']));
  return {
    ...open,
    staffId,
    heldOn,
    density: last?.density ?? '',
    texture: last?.texture ?? '',
    wave: last?.wave ?? '',
    hairNotes: last?.hairNotes ?? '',
    ...Object.fromEntries((last?.growthPatterns ?? []).map((pattern) => [`pattern.${pattern}`, 'true'])),
    scalpWords: '',
    healthWords: '',
    ...Object.fromEntries(CONTRAINDICATIONS.map((kind) => [`told.${kind}`, ''])),
    ...Object.fromEntries(CONSENT_MATTERS.map((matter) => [`consent.${matter}`, ''])),
  };
}

export type ReadConsultation = {
  readonly input: Record<string, unknown>;
  /** Turns a field as the service names it into the form's own name. */
  readonly rename: (field: string) => string;
};

/** The form as the service takes it. `health` false leaves out what this person may not write. */
export function readConsultation(
  values: Readonly<Record<string, string>>,
  clientId: string,
  health: boolean,
): ReadConsultation {
  const ticked = <T extends string>(group: string, all: readonly T[]) =>
    all.filter((one) => values[`${group}.${one}`] === 'true');
  const told = CONTRAINDICATIONS.map((kind) => ({
    kind,
    told: (values[`told.${kind}`] ?? '').trim(),
  })).filter(({ told }) => told !== '');
  const consents = CONSENT_MATTERS.flatMap((to) => {
    const [answer = '', how] = (values[`consent.${to}`] ?? '').split(':', 2);
    return answer === '' ? [] : [{ to, given: answer === 'yes' ? 'true' : 'false', how }];
  });
  const fixed: Readonly<Record<string, string>> = {
    'health.scalpWords': 'scalpWords',
    'health.words': 'healthWords',
  };
  return {
    input: {
      ...Object.fromEntries(PLAIN.map((name) => [name, values[name] ?? ''])),
      clientId,
      growthPatterns: ticked('pattern', GROWTH_PATTERNS),
      consents,
      ...(health && {
        health: {
          scalp: ticked<ScalpObservation>('scalp', SCALP_OBSERVATIONS),
          scalpWords: values['scalpWords'] ?? '',
          contraindications: told,
          words: values['healthWords'] ?? '',
        },
      }),
    },
    rename: (field) => {
      const [, group, index] = /^(health\.contraindications|consents)\.(\d+)\b/.exec(field) ?? [];
      if (group === 'consents') return `consent.${consents[Number(index)]?.to}`;
      if (group) return `told.${told[Number(index)]?.kind}`;
      return fixed[field] ?? field;
    },
  };
}

export type Named = { readonly id: string; readonly name: string };

/** One consultation as its page shows it; what was not said is left out. */
export function consultationView(
  one: Consultation,
  staff: readonly Named[],
  formulas: readonly Named[],
  spoken: Spoken,
) {
  const effort = [
    one.dailyEffortMinutes === null ? '' : `${one.dailyEffortMinutes} min a day`,
    one.dailyEffort,
  ].filter(Boolean);
  const terms = [
    { name: 'House formula', value: formulas.find(({ id }) => id === one.wantedFormulaId)?.name ?? '' },
    { name: 'Daily effort', value: effort.join('; ') },
    { name: 'Density', value: one.density ?? '' },
    { name: 'Texture', value: one.texture ?? '' },
    { name: 'Wave', value: one.wave ?? '' },
    { name: 'Growth', value: one.growthPatterns.map((pattern) => PATTERN_WORDS[pattern]).join(', ') },
  ];
  return {
    id: one.id,
    on: shortDay(one.heldOn, spoken),
    by: staff.find(({ id }) => id === one.staffId)?.name ?? '',
    wanted: one.wantedShape,
    why: one.why,
    terms: terms.filter(({ value }) => value !== ''),
    hair: one.hairNotes,
    notes: one.notes,
    consents: one.consents.map((consent) => consentView(consent, spoken)),
  };
}

/** "Photographs: agreed, signed, 14 May". */
export function consentView({ to, given, how, on }: ConsentGiven, spoken: Spoken) {
  return {
    matter: MATTER_WORDS[to],
    given,
    words: `${given ? 'agreed' : 'declined'}, ${WAY_WORDS[how]}, ${shortDay(on, spoken)}`,
  };
}

/** The health part in words. */
export function healthView(facts: HealthFacts) {
  return {
    scalp: facts.scalp.join(', '),
    scalpWords: facts.scalpWords,
    told: facts.contraindications.map(({ kind, told }) => ({ name: CONTRAINDICATION_WORDS[kind], told })),
    words: facts.words,
    nothing: facts.scalp.length + facts.contraindications.length === 0 && !facts.scalpWords && !facts.words,
  };
}
