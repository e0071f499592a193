import { EIGHTHS, MM_PER } from '../base/index.js';
import type { Units } from '../salon/index.js';

export { parseLength, type Ruler } from '../base/index.js';

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
