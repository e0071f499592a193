import { fold } from '../base/index.js';
import { ZONES, type Zone } from '../engine/zones.js';
import { ZONE_NAMES } from './kinds.js';

/** What spreadsheets are given so that they take no cell for a formula is taken off again. */
export function unguarded(cell: string): string {
  return /^'[=+\-@\t\r]/.test(cell) ? cell.slice(1) : cell;
}

/**
 * An amount of money as sheets write it, in the currency's minor unit of `digits` digits: "£45", "45,00", "1.234,50",
 * "1,234.50". Undefined when it is none, or could be read two ways ("1,234").
 */
export function readMoney(text: string, digits: number): number | undefined {
  const bare = text
    .replace(/\p{Sc}|[A-Za-z]{3}/gu, '')
    .replace(/[\s\u00a0\u202f']/g, '')
    .trim();
  if (!/^\d[\d.,]*$/.test(bare)) return undefined;
  const last = Math.max(bare.lastIndexOf('.'), bare.lastIndexOf(','));
  const behind = last < 0 ? 0 : bare.length - last - 1;
  const marks = bare.replace(/\d/g, '');
  if (last >= 0 && behind !== 0 && behind > digits && !(behind === 3 && (marks.length > 1 || digits === 0)))
    return undefined;
  const isDecimal = last >= 0 && behind > 0 && behind <= digits;
  const whole = (isDecimal ? bare.slice(0, last) : bare).replace(/[.,]/g, '');
  const part = isDecimal ? bare.slice(last + 1).padEnd(digits, '0') : '0'.repeat(digits);
  return Number(`${whole}${part}`);
}

/** "Lark, Ada" or "Ada Lark" as given and family name: behind a comma stands the given name, else the last word is the family's. */
export function splitName(text: string): { givenName: string; familyName: string } {
  const name = text.trim().replace(/\s+/g, ' ');
  const comma = name.indexOf(',');
  if (comma >= 0) {
    const familyName = name.slice(0, comma).trim();
    const givenName = name.slice(comma + 1).trim();
    return givenName === '' ? { givenName: familyName, familyName: '' } : { givenName, familyName };
  }
  const space = name.lastIndexOf(' ');
  return space < 0
    ? { givenName: name, familyName: '' }
    : { givenName: name.slice(0, space), familyName: name.slice(space + 1) };
}

/** The zone that was meant, or undefined. */
export function readZone(text: string): Zone | undefined {
  const word = fold(text);
  return ZONES.find((zone) => ZONE_NAMES[zone].includes(word));
}

const CLEAR = ['clear', 'negative', 'neg', 'no reaction', 'none', 'passed', 'ok', 'fine', 'nothing'];
const REACTED = ['reacted', 'reaction', 'positive', 'pos', 'failed', 'allergic'];

/** What a skin test's result says. Bare yes and no are not understood: nobody knows to which question. */
export function readResult(text: string): 'clear' | 'reacted' | undefined {
  const sign = text.trim();
  if (sign === '-' || sign === '−') return 'clear';
  if (/^\++$/.test(sign)) return 'reacted';
  const word = fold(text);
  if (CLEAR.includes(word)) return 'clear';
  return REACTED.includes(word) ? 'reacted' : undefined;
}

/** A duration in whole minutes: "45", "45 min", "1:30", "1 h 30". */
export function readMinutes(text: string): number | undefined {
  const typed = text.trim().toLowerCase();
  const [, hours, minutes] =
    /^(\d{1,2}):(\d{2})(?::00)?$/.exec(typed) ??
    /^(\d{1,2})\s*(?:h|hrs?|hours?)\.?\s*(?:(\d{1,2})\s*(?:m|min|mins|minutes?)?\.?)?$/.exec(typed) ??
    [];
  if (hours !== undefined) return Number(hours) * 60 + Number(minutes ?? 0);
  const [, bare] = /^(\d{1,3})\s*(?:m|min|mins|minutes?)?\.?$/.exec(typed) ?? [];
  return bare === undefined ? undefined : Number(bare);
}
