import { DomainError, type FieldProblem } from '../base/index.js';
import { lengthInBox, lengthText, parseLength, type Ruler } from './lengths.js';

const LONGEST_MM = 2000;

/** Reads the boxes of one form, gathering what is wrong so that everything can be told at once. */
export class Typed {
  private readonly problems: FieldProblem[] = [];

  constructor(private readonly values: Readonly<Record<string, string>>) {}

  text(field: string): string {
    return (this.values[field] ?? '').trim();
  }

  /** One of `choices`, or undefined for an empty box. */
  choice<T extends string>(field: string, choices: readonly T[], name: string): T | undefined {
    const text = this.text(field);
    if (text === '') return undefined;
    const choice = choices.find((candidate) => candidate === text);
    return choice ?? this.wrong(field, `${name}: choose one of the list.`);
  }

  /** In mm, from 0 to 2,000 unless told otherwise; the words name the salon's unit. */
  lengthMm(
    field: string,
    name: string,
    ruler: Ruler,
    [least, most]: readonly [number, number] = [0, LONGEST_MM],
  ): number | undefined {
    let mm: number | undefined;
    try {
      mm = parseLength(this.values[field], field, ruler);
    } catch (error) {
      if (!(error instanceof DomainError)) throw error;
      return this.wrong(field, `${name}: ${error.message}`);
    }
    if (mm === undefined || (mm >= least && mm <= most)) return mm;
    const longest = { cm: '200 cm', in: '78 in', mm: '2000 mm' }[ruler.units];
    const bounds =
      most === LONGEST_MM && least === 0
        ? `0 and ${longest}`
        : `${lengthText(least, ruler.units)} and ${lengthText(most, ruler.units)}`;
    return this.wrong(field, `${name}: a length lies between ${bounds}. Check the number and its unit.`);
  }

  /** Like lengthMm for a box that was filled from `storedMm`: unchanged, it gives that back unrounded. */
  keptLengthMm(
    field: string,
    name: string,
    ruler: Ruler,
    storedMm: number | null | undefined,
    bounds?: readonly [number, number],
  ): number | undefined {
    const isUnchanged = storedMm != null && this.text(field) === lengthInBox(storedMm, ruler.units);
    return isUnchanged ? storedMm : this.lengthMm(field, name, ruler, bounds);
  }

  /** A whole or broken number within bounds, or undefined for an empty box. */
  number(field: string, name: string, min: number, max: number, whole = false): number | undefined {
    const text = this.text(field).replace(',', '.').replace(/°$/, '');
    if (text === '') return undefined;
    const value = /^-?\d+(\.\d+)?$/.test(text) ? Number(text) : Number.NaN;
    if (Number.isNaN(value) || value < min || value > max || (whole && !Number.isInteger(value))) {
      return this.wrong(field, `${name}: write a ${whole ? 'whole ' : ''}number from ${min} to ${max}.`);
    }
    return value;
  }

  /** An amount of money as people write it, in the currency's minor unit. */
  moneyMinor(field: string, name: string, currency: string): number | undefined {
    const text = this.text(field)
      .replace(/[^\d.,-]/g, '')
      .replace(',', '.');
    if (this.text(field) === '') return undefined;
    const { maximumFractionDigits: digits = 2 } = new Intl.NumberFormat('en', {
      style: 'currency',
      currency,
    }).resolvedOptions();
    const value = /^\d+(\.\d+)?$/.test(text) ? Math.round(Number(text) * 10 ** digits) : Number.NaN;
    if (Number.isNaN(value) || value > 10_000_000) {
      return this.wrong(field, `${name}: write an amount such as ${(45).toFixed(digits)}.`);
    }
    return value;
  }

  wrong(field: string, message: string): undefined {
    this.problems.push({ field, message });
    return undefined;
  }

  /** Throws INPUT.INVALID naming every box that could not be read. */
  finish(): void {
    if (this.problems.length === 0) return;
    const list = this.problems.map(({ message }) => message).join(' ');
    throw new DomainError('invalid', 'INPUT.INVALID', list, this.problems);
  }
}

/** An amount as it stands in a box: "45.00". */
export function moneyInBox(minor: number, currency: string): string {
  const { maximumFractionDigits: digits = 2 } = new Intl.NumberFormat('en', {
    style: 'currency',
    currency,
  }).resolvedOptions();
  return (minor / 10 ** digits).toFixed(digits);
}
