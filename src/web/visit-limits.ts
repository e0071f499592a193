import type { HoldLimitRow, LimitInput, WholeFormula } from '../cuts/index.js';
import { ZONES } from '../engine/zones.js';
import { lengthInBox, type Ruler } from './lengths.js';
import type { Typed } from './typed.js';
import type { Values } from './visit-steps.js';
import { optionsOf, ZONE_WORDS } from './words.js';

const LIMIT_FIELD = /^limit\.([lm]\d{1,2})$/;
const LONGEST_MM = 2000;

/** What can end a zone's hold, each as one choice: its kind, and with it the landmark or the way of comparing. */
export const ENDS_WORDS: Readonly<Record<string, string>> = {
  'grown-by': 'grown by',
  'longer-than': 'longer than',
  'landmark:brow': 'past the brow by',
  'landmark:lid-crease': 'past the crease of the eyelid by',
  'landmark:upper-lid': 'past the edge of the upper eyelid by',
  'landmark:ear-canal': 'past the ear canal by',
  'landmark:nape-hairline': 'past the nape hairline by',
  'landmark:collar': 'past the collar by',
  'contrast:difference': 'no longer shorter, than the other zone, by',
  'contrast:ratio': 'other zone no longer so many times as long',
  'weight-line': 'weight line dropped by',
  'root-band': 'root band wider than',
};
export const ENDS_OPTIONS = optionsOf(ENDS_WORDS);

type Stored = Pick<HoldLimitRow, 'kind' | 'zone' | 'against' | 'by' | 'landmark' | 'value' | 'sd'>;

function endsOf({ kind, by, landmark }: Stored): string {
  if (kind === 'contrast') return `contrast:${by ?? 'difference'}`;
  return kind === 'landmark' ? `landmark:${landmark ?? ''}` : kind;
}

function inBox(limit: Stored, ruler: Ruler): string {
  return limit.kind === 'contrast' && limit.by === 'ratio'
    ? String(Number(limit.value.toFixed(2)))
    : lengthInBox(limit.value, ruler.units);
}

export function limitKeys(values: Values): string[] {
  return Object.keys(values).flatMap((field) => LIMIT_FIELD.exec(field)?.[1] ?? []);
}

export function limitValues(key: string, from: Stored | undefined, ruler: Ruler): Record<string, string> {
  return {
    [`limit.${key}`]: '1',
    [`limit.${key}.zone`]: from?.zone ?? '',
    [`limit.${key}.ends`]: from ? endsOf(from) : 'grown-by',
    [`limit.${key}.value`]: from ? inBox(from, ruler) : '',
    [`limit.${key}.against`]: from?.against ?? '',
  };
}

export type ReadLimit = { readonly key: string; readonly limit: LimitInput };

/** Reads every limit; a row without a number is no limit. A copied one that was not changed keeps what was learned. */
export function readLimits(
  typed: Typed,
  values: Values,
  source: WholeFormula | undefined,
  ruler: Ruler,
): ReadLimit[] {
  return limitKeys(values).flatMap((key, i) => {
    const from = key.startsWith('l') ? source?.limits[Number(key.slice(1)) - 1] : undefined;
    const limit = readLimit(typed, values, key, i + 1, from, ruler);
    return limit ? [{ key, limit }] : [];
  });
}

function readLimit(
  typed: Typed,
  values: Values,
  key: string,
  place: number,
  from: Stored | undefined,
  ruler: Ruler,
): LimitInput | undefined {
  const name = (field: string) => `limit.${key}.${field}`;
  const words = `Hold limit ${place}`;
  if (typed.text(name('value')) === '') return undefined;
  if (
    from &&
    Object.entries(limitValues(key, from, ruler)).every(([field, text]) => values[field] === text)
  ) {
    const { kind, zone, against, by, landmark, value, sd } = from;
    return { kind, zone, against, by, landmark, value, sd };
  }
  const zone = typed.choice(name('zone'), ZONES, `${words}, zone`);
  if (!zone) return typed.wrong(name('zone'), `${words}: choose its zone, or clear its number.`);
  const ends = typed.text(name('ends'));
  if (!Object.hasOwn(ENDS_WORDS, ends))
    return typed.wrong(name('ends'), `${words}: choose what ends the hold.`);
  const [kind, part] = ends.split(':') as [LimitInput['kind'], string | undefined];
  if (kind !== 'contrast') {
    const value = typed.lengthMm(name('value'), words, ruler);
    if (value === undefined) return undefined;
    return {
      kind,
      zone,
      against: null,
      by: null,
      landmark: kind === 'landmark' ? (part ?? null) : null,
      value,
    };
  }
  const against = typed.choice(name('against'), ZONES, `${words}, other zone`);
  if (!against || against === zone) {
    return typed.wrong(name('against'), `${words}: choose the other zone to compare with.`);
  }
  const value =
    part === 'ratio'
      ? typed.number(name('value'), `${words}, times as long`, 0.01, 100)
      : typed.lengthMm(name('value'), words, ruler, [-LONGEST_MM, LONGEST_MM]);
  if (value === undefined) return undefined;
  return { kind, zone, against, by: part === 'ratio' ? 'ratio' : 'difference', landmark: null, value };
}

export function withNewLimit(values: Values, ruler: Ruler): Values {
  const last = limitKeys(values).reduce(
    (most, key) => (key.startsWith('m') ? Math.max(most, Number(key.slice(1))) : most),
    0,
  );
  return { ...values, ...limitValues(`m${last + 1}`, undefined, ruler) };
}

/** One limit as the page shows it around its boxes. */
export function limitForms(values: Values, errors: Values) {
  return limitKeys(values).map((key, i) => {
    const zone = ZONES.find((one) => one === values[`limit.${key}.zone`]);
    return {
      key,
      place: i + 1,
      name: zone ? ZONE_WORDS[zone] : 'New',
      ends: ENDS_WORDS[values[`limit.${key}.ends`] ?? ''] ?? '',
      compares: (values[`limit.${key}.ends`] ?? '').startsWith('contrast'),
      open: !zone || Object.keys(errors).some((field) => field.startsWith(`limit.${key}.`)),
    };
  });
}
