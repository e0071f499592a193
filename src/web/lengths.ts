import { DomainError } from '../base/index.js';
import type { Units } from '../salon/index.js';

/** What one stylist measures with: the salon's units and the breadth of her own finger. */
export type Ruler = { readonly units: Units; readonly fingerWidthMm: number };

/** 1 in = 25.4 mm exactly (international yard and pound agreement, 1959). */
const MM_PER: Record<Units, number> = { mm: 1, cm: 10, in: 25.4 };
const EIGHTHS = ['', '⅛', '¼', '⅜', '½', '⅝', '¾', '⅞'] as const;

function inEighths(mm: number): string {
  const eighths = Math.round((Math.abs(mm) / MM_PER.in) * 8);
  const whole = Math.floor(eighths / 8);
  const part = EIGHTHS[eighths % 8] ?? '';
  const sign = mm < 0 && eighths > 0 ? '−' : '';
  return `${sign}${whole > 0 || part === '' ? whole : ''}${part}`;
}

function bare(mm: number, units: Units): string {
  if (units === 'in') return inEighths(mm);
  const text = (mm / MM_PER[units]).toFixed(units === 'cm' ? 1 : 0);
  return (Number(text) === 0 ? text.replace('-', '') : text).replace('-', '−');
}

/** A length in mm as the salon reads it: "5.2 cm", "2⅛ in" (nearest eighth) or "52 mm". */
export function lengthText(mm: number, units: Units): string {
  return `${bare(mm, units)} ${units}`;
}

/** Two lengths in mm as a range: "4.8–5.6 cm". */
export function rangeText(lowMm: number, highMm: number, units: Units): string {
  return `${bare(lowMm, units)}–${bare(highMm, units)} ${units}`;
}

/** A length in mm on the hand's ruler, to the nearest half finger: "1½ fingers"; empty below a quarter. */
export function fingersText(mm: number, fingerWidthMm: number): string {
  const halves = Math.round((mm / fingerWidthMm) * 2);
  if (halves < 1) return '';
  const whole = Math.floor(halves / 2);
  const text = `${whole > 0 ? whole : ''}${halves % 2 === 1 ? '½' : ''}`;
  return `${text} ${halves > 2 ? 'fingers' : 'finger'}`;
}

/** A length in mm as it stands in a form's box: without its unit, short enough to type over. */
export function lengthInBox(mm: number | null | undefined, units: Units): string {
  if (mm === null || mm === undefined) return '';
  const digits = { mm: 0, cm: 1, in: 2 }[units];
  return String(Number((mm / MM_PER[units]).toFixed(digits)));
}

const UNIT_WORDS: readonly (readonly [RegExp, Units | 'finger'])[] = [
  [/^(?:mm|millimet(?:er|re)s?)$/, 'mm'],
  [/^(?:cm|centimet(?:er|re)s?)$/, 'cm'],
  [/^(?:in|inch|inches|"|″|'')$/, 'in'],
  [/^(?:f|fingers?|fw)$/, 'finger'],
];

function amount(text: string): number | undefined {
  const fractions = text.replace(/[⅛¼⅜½⅝¾⅞]/g, (part) => ` ${EIGHTHS.indexOf(part as '½')}/8`).trim();
  const mixed = /^(?:(\d+)\s+)?(\d+)\/(\d+)$/.exec(fractions);
  if (mixed) {
    const below = Number(mixed[3]);
    return below === 0 ? undefined : Number(mixed[1] ?? 0) + Number(mixed[2]) / below;
  }
  const plain = fractions.replace(',', '.');
  return /^-?(?:\d+(?:\.\d*)?|\.\d+)$/.test(plain) ? Number(plain) : undefined;
}

/**
 * A typed length in mm, or undefined for an empty box. Bare numbers are in the salon's units; "52 mm", "2 1/8 in",
 * "2½ fingers" say theirs. Bounds are the domain's business. Throws LENGTH.UNREADABLE naming `field`.
 */
export function parseLength(text: string | undefined, field: string, ruler: Ruler): number | undefined {
  const typed = (text ?? '').trim().toLowerCase();
  if (typed === '') return undefined;
  const split = /^([-\d\s.,/⅛¼⅜½⅝¾⅞]+?)\s*([a-z"″']*)$/.exec(typed);
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
