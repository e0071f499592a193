import { DomainError, fold, type LengthUnit, parseLength } from '../base/index.js';
import type { Service, Staff } from '../salon/index.js';
import { type RowCells, shown } from './row-cells.js';
import type { ImportSettings } from './settings.js';

/** A row's fingers are those of nobody known: the usual breadth. */
const USUAL_FINGER_MM = 18;

/** Those whose name is the one written, or whose given name is when only one has it. */
function byName<T extends { readonly name: string }>(all: readonly T[], typed: string): readonly T[] {
  const name = fold(typed);
  const whole = all.filter((one) => fold(one.name) === name);
  return whole.length > 0 ? whole : all.filter((one) => fold(one.name).split(' ')[0] === name);
}

/** The one of the staff that a row names; undefined when it names nobody. */
export function staffNamed(row: RowCells, staff: readonly Staff[]): Staff | undefined {
  const typed = row.text('stylist');
  if (typed === '') return undefined;
  const found = byName(staff, typed);
  if (found.length === 1) return found[0];
  const names = staff.map(({ name }) => name).join(', ');
  return row.wrong('stylist', `${shown(typed)} is nobody here, or several. Write one of: ${names}.`);
}

function serviceNamed(row: RowCells, services: readonly Service[]): Service | undefined {
  const typed = row.text('service');
  if (typed === '') return undefined;
  const name = fold(typed);
  const found = services.filter((service) => fold(service.name) === name);
  const offered = found.filter(({ active }) => active);
  const one = offered.length === 1 ? offered[0] : found[0];
  if (one) return one;
  const names = services.filter(({ active }) => active).map((service) => service.name);
  return row.wrong(
    'service',
    `${shown(typed)} is no service here. Write one of: ${names.join(', ')}; or add it first.`,
  );
}

/** Who and what a row names, else what the settings say for rows that do not. */
export function partiesOf(
  row: RowCells,
  settings: ImportSettings,
  staff: readonly Staff[],
  services: readonly Service[],
): { staff: Staff | undefined; service: Service | undefined } {
  const written = { staff: row.text('stylist'), service: row.text('service') };
  return {
    staff: written.staff ? staffNamed(row, staff) : staff.find(({ id }) => id === settings.staffId),
    service: written.service
      ? serviceNamed(row, services)
      : services.find(({ id }) => id === settings.serviceId),
  };
}

/** A length in mm; bare numbers are in `units`. */
export function lengthCell(row: RowCells, key: string, units: LengthUnit): number | undefined {
  const text = row.text(key);
  try {
    return parseLength(text, key, { units, fingerWidthMm: USUAL_FINGER_MM });
  } catch (error) {
    if (!(error instanceof DomainError)) throw error;
    return row.wrong(key, `${shown(text)} is no length. Write it like 5.2 cm, 52 mm or 2 1/8 in.`);
  }
}
