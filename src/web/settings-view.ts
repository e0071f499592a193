import type { ResourceKind, Salon, Service, ServiceStep, Staff } from '../salon/index.js';
import { RESOURCE_KINDS } from '../salon/index.js';
import { moneyInBox, Typed } from './typed.js';
import { optionsOf } from './words.js';

export const RESOURCE_WORDS: Record<ResourceKind, string> = {
  chair: 'chair',
  'wash-basin': 'wash basin',
  room: 'room',
};
export const RESOURCE_OPTIONS = optionsOf(RESOURCE_WORDS);

export const ACTIVITY_WORDS: Record<ServiceStep['activity'], string> = {
  active: 'at work',
  processing: 'processing, stylist free',
};

const MOST_STEPS = 12;
const BLANK_STEPS = 3;

type Values = Readonly<Record<string, string>>;

/** "colour, perm" as a list; null for none. */
export function skillsOf(text: string | undefined): string[] | null {
  const skills = (text ?? '')
    .split(',')
    .map((skill) => skill.trim())
    .filter(Boolean);
  return skills.length > 0 ? [...new Set(skills)] : null;
}

/** Every skill that somebody has or a service asks for. */
export function knownSkills(staff: readonly Staff[], services: readonly Service[]): string {
  return [...new Set([...staff, ...services].flatMap(({ skills }) => skills ?? []))].sort().join(', ');
}

/** A service's steps in words: "at work 30, processing 40, at work 20 (wash basin)". */
export function stepsText(steps: readonly ServiceStep[] | null | undefined): string {
  return (steps ?? [])
    .map(({ activity, minutes, resources }) => {
      const held = (resources ?? []).map((kind) => RESOURCE_WORDS[kind]).join(', ');
      return `${activity === 'active' ? 'at work' : 'processing'} ${minutes} min${held ? ` (${held})` : ''}`;
    })
    .join(', ');
}

/** A service as its form shows it. */
export function serviceValues(service: Service, { currency }: Salon): Record<string, string> {
  const { name, kind, zones, minutes, priceMinor, active, steps, resources, skills, version } = service;
  return {
    name,
    kind,
    minutes: String(minutes),
    price: moneyInBox(priceMinor, currency),
    skills: (skills ?? []).join(', '),
    expectedVersion: String(version),
    ...(active && { active: 'true' }),
    ...ticked('zone', zones),
    ...ticked('resource', resources ?? []),
    ...Object.assign(
      {},
      ...(steps ?? []).map((step, place) => ({
        [`step.${place}.activity`]: step.activity,
        [`step.${place}.minutes`]: String(step.minutes),
        ...ticked(`step.${place}`, step.resources ?? []),
      })),
    ),
  };
}

function ticked(group: string, keys: readonly string[]): Record<string, string> {
  return Object.fromEntries(keys.map((key) => [`${group}.${key}`, 'true']));
}

const isTicked = (values: Values, name: string) => values[name] === 'true';

/** Rows to type steps into: those there are, and a few more. */
export function stepRows(values: Values) {
  const used = Array.from({ length: MOST_STEPS }, (_, place) => place).filter(
    (place) => values[`step.${place}.minutes`],
  );
  const rows = Math.min(MOST_STEPS, (used.at(-1) ?? -1) + 1 + BLANK_STEPS);
  return Array.from({ length: rows }, (_, place) => ({ place, number: place + 1 }));
}

/** The form as the salon takes a service, and the box that a field of a refusal belongs to. Throws INPUT.INVALID. */
export function readService(values: Values, { currency }: Salon, zones: readonly string[]) {
  const typed = new Typed(values);
  const priceMinor = typed.moneyMinor('price', 'Price', currency);
  if (priceMinor === undefined && !typed.text('price')) typed.wrong('price', 'Price: write one, 0 for none.');
  typed.finish();
  const places = Array.from({ length: MOST_STEPS }, (_, place) => place).filter(
    (place) => (values[`step.${place}.minutes`] ?? '').trim() !== '',
  );
  const steps = places.map((place) => ({
    activity: values[`step.${place}.activity`] ?? 'active',
    minutes: values[`step.${place}.minutes`] ?? '',
    resources: RESOURCE_KINDS.filter((kind) => isTicked(values, `step.${place}.${kind}`)),
  }));
  const sum = steps.reduce((total, { minutes }) => total + Number(minutes), 0);
  const held = RESOURCE_KINDS.filter((kind) => isTicked(values, `resource.${kind}`));
  const input = {
    name: values['name'],
    kind: values['kind'],
    zones: values['kind'] === 'tidy' ? zones.filter((zone) => isTicked(values, `zone.${zone}`)) : [],
    // Steps say how long it takes; only without them is it said once.
    minutes: steps.length > 0 && Number.isFinite(sum) ? sum : values['minutes'],
    priceMinor,
    active: isTicked(values, 'active'),
    steps: steps.length > 0 ? steps : null,
    resources: held.length > 0 ? held : null,
    skills: skillsOf(values['skills']),
    ...(values['expectedVersion'] && { expectedVersion: values['expectedVersion'] }),
  };
  const rename = (field: string): string => {
    const [, row, part] = /^steps\.(\d+)\.(\w+)$/.exec(field) ?? [];
    if (row !== undefined) return `step.${places[Number(row)]}.${part === 'activity' ? part : 'minutes'}`;
    if (field === 'steps') return `step.${places[0] ?? 0}.minutes`;
    return field === 'priceMinor' ? 'price' : field;
  };
  return { input, rename };
}
