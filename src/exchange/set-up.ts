import type { EntityManager } from 'typeorm';
import { DomainError } from '../base/index.js';
import { type Salon, Service, Staff } from '../salon/index.js';
import type { ImportRun } from './entities.js';
import type { ColumnMapping } from './guess-columns.js';
import { IMPORT_FIELDS, type ImportKind } from './kinds.js';
import type { ImportSettings } from './settings.js';
import { shownOrder } from './survey.js';

export function dateColumns(kind: ImportKind, mapping: ColumnMapping): number[] {
  return IMPORT_FIELDS[kind].flatMap(({ key, isDate }) => (isDate ? (mapping[key] ?? []) : []));
}

export function checkedMapping(given: Record<string, unknown>, run: ImportRun): ColumnMapping {
  const mapping: Record<string, number> = { ...run.settings.mapping };
  const width = run.survey.headings.length;
  const known = new Set(IMPORT_FIELDS[run.kind].map(({ key }) => key));
  for (const [key, value] of Object.entries(given)) {
    const wrong = (message: string) => DomainError.invalid('INPUT.INVALID', `mapping.${key}`, message);
    if (!known.has(key)) throw wrong(`Columns: there is no field ${key.slice(0, 40)} in such a file.`);
    delete mapping[key];
    if (value === null || value === '') continue;
    const column = typeof value === 'string' && /^\d{1,4}$/.test(value) ? Number(value) : value;
    if (typeof column !== 'number' || !Number.isInteger(column) || column < 0 || column >= width) {
      throw wrong(`Columns: give the number of a column from 0 to ${width - 1}, or leave it out.`);
    }
    mapping[key] = column;
  }
  return mapping;
}

export async function requireParties(
  manager: EntityManager,
  salon: Salon,
  settings: ImportSettings,
): Promise<void> {
  const { staffId, serviceId } = settings;
  if (staffId !== null && !(await manager.existsBy(Staff, { id: staffId, salonId: salon.id }))) {
    throw DomainError.invalid('INPUT.INVALID', 'staffId', 'Stylist: choose one of the list, or none.');
  }
  if (serviceId !== null && !(await manager.existsBy(Service, { id: serviceId, salonId: salon.id }))) {
    throw DomainError.invalid('INPUT.INVALID', 'serviceId', 'Service: choose one of the list, or none.');
  }
}

/** The fields of which a kind of file needs at least one of each group. */
const NEEDED: Readonly<Record<ImportKind, readonly (readonly string[])[]>> = {
  clients: [['name', 'givenName', 'familyName']],
  visits: [['date']],
  lengths: [
    ['date'],
    [
      'length',
      'zone.fringe',
      'zone.top',
      'zone.crown',
      'zone.left-side',
      'zone.right-side',
      'zone.back',
      'zone.nape',
    ],
  ],
  'skin-tests': [['appliedOn'], ['productLine'], ['result']],
  appointments: [['start', 'date']],
};
const WHOSE = ['number', 'name', 'givenName', 'phone', 'email'];

export function lacksOf(run: ImportRun): { readonly field: string; readonly message: string }[] {
  const { kind, settings, survey } = run;
  const fields = IMPORT_FIELDS[kind];
  const groups = kind === 'clients' ? NEEDED.clients : [WHOSE, ...NEEDED[kind]];
  const lacking = groups.flatMap((keys) => {
    if (keys.some((key) => key in settings.mapping)) return [];
    const labels = keys.map((key) => fields.find((field) => field.key === key)?.label ?? key);
    return [{ field: `mapping.${keys[0]}`, message: `Say which column holds: ${labels.join(', or ')}.` }];
  });
  const order = shownOrder(survey, dateColumns(kind, settings.mapping));
  if (order === 'ask' && settings.dateOrder === null) {
    lacking.push({
      field: 'dateOrder',
      message: 'Say whether the day or the month comes first: the dates in this file can be read both ways.',
    });
  }
  return lacking;
}
