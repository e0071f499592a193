import { DomainError } from './domain-error.js';

export type LengthUnit = 'cm' | 'in' | 'mm';

/** What one stylist measures with: the salon's units and the breadth of her own finger. */
export type Ruler = { readonly units: LengthUnit; readonly fingerWidthMm: number };

/** 1 in = 25.4 mm exactly (international yard and pound agreement, 1959). */
export const MM_PER: Record<LengthUnit, number> = { mm: 1, cm: 10, in: 25.4 };
export const EIGHTHS = ['', '⅛', '¼', '⅜', '½', '⅝', '¾', '⅞'] as const;

const UNIT_WORDS: readonly (readonly [RegExp, LengthUnit | 'finger'])[] = [
  [/^(?:mm|millimet(?:er|re)s?)$/, 'mm'],
  [/^(?:cm|centimet(?:er|re)s?)$/, 'cm'],
  [/^(?:in|inch|inches|"|″|”|'')$/, 'in'],
  [/^(?:f|fingers?|fw)$/, 'finger'],
];

function amount(text: string): number | undefined {
  const fractions = text
    .replace(/[⅛¼⅜½⅝¾⅞]/g, (part) => ` ${EIGHTHS.indexOf(part as '½')}/8`)
    .replace(/[⁄∕]/g, '/')
    .trim();
  // "1-3/8" is how many write one and three eighths by hand.
  const mixed = /^(?:(\d+)(?:\s+|\s*-\s*))?(\d+)\s*\/\s*(\d+)$/.exec(fractions);
  if (mixed) {
    const below = Number(mixed[3]);
    return below === 0 ? undefined : Number(mixed[1] ?? 0) + Number(mixed[2]) / below;
  }
  const plain = fractions.replace(',', '.');
  return /^-?(?:\d+(?:\.\d*)?|\.\d+)$/.test(plain) ? Number(plain) : undefined;
}

/**
 * A typed length in mm, or undefined for an empty box. Bare numbers are in the ruler's units; "52 mm", "2 1/8 in",
 * "2½ fingers" say theirs. Bounds are the domain's business. Throws LENGTH.UNREADABLE naming `field`.
 */
export function parseLength(text: string | undefined, field: string, ruler: Ruler): number | undefined {
  const typed = (text ?? '').trim().toLowerCase();
  if (typed === '') return undefined;
  const split = /^([-\d\s.,/⁄∕⅛¼⅜½⅝¾⅞]+?)\s*([a-z"″”']*)\.?$/.exec(typed);
  const unit = split?.[2] ? UNIT_WORDS.find(([pattern]) => pattern.test(split[2] ?? ''))?.[1] : ruler.units;
  const value = split ? amount((split[1] ?? '').trim()) : undefined;
  if (value === undefined || unit === undefined || !Number.isFinite(value)) {
    const sample = { cm: '5.2', in: '2 1/8', mm: '52' }[ruler.units];
    throw DomainError.invalid(
      'LENGTH.UNREADABLE',
      field,
      `Write the length as a number of ${ruler.units}, such as ${sample}, or leave it empty.`,
    );
  }
  const mm = value * (unit === 'finger' ? ruler.fingerWidthMm : MM_PER[unit]);
  return Math.round(mm * 100) / 100;
}
