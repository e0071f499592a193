import {
  DATE_ORDERS,
  DELIMITERS,
  ENCODINGS,
  IMPORT_FIELDS,
  type ImportKind,
  type ImportRun,
  ON_DOUBLE,
  ON_SHARED,
  OUTCOMES,
  type Outcome,
  type Preview,
} from '../exchange/index.js';
import type { FormState } from './forms.js';
import { counted, type Option, optionsOf } from './words.js';

const KIND_WORDS: Record<ImportKind, string> = {
  clients: 'Clients',
  visits: 'Visits',
  lengths: 'Lengths that cuts left',
  'skin-tests': 'Skin tests',
  appointments: 'Appointments to come',
};
export const KIND_OPTIONS = optionsOf(KIND_WORDS);

const OUTCOME_WORDS: Record<Outcome, string> = {
  new: 'new',
  changed: 'changed',
  same: 'the same',
  skipped: 'left out',
  refused: 'refused',
};

const STATE_WORDS: Record<ImportRun['state'], string> = {
  uploaded: 'to be set up',
  checking: 'being checked',
  checked: 'checked, not imported yet',
  running: 'being imported',
  done: 'imported',
  stopped: 'stopped',
  failed: 'stopped by a fault',
};

const CHOICES = {
  orders: optionsOf({ 'day-first': 'day first: 27/5/1984', 'month-first': 'month first: 5/27/1984' }),
  doubles: optionsOf({
    fill: 'fill in only what is empty here',
    theirs: 'take what the file says',
    keep: 'keep ours, change nothing',
    skip: 'leave the row out',
  }),
  shared: optionsOf({
    add: 'add as a person of her own',
    refuse: 'refuse the row, I will look at it',
  }),
  units: optionsOf({ cm: 'centimetres', in: 'inches', mm: 'millimetres' }),
  rota: optionsOf({ false: 'refuse', true: 'book all the same' }),
  delimiters: optionsOf({ ',': 'comma', ';': 'semicolon', '\t': 'tab', '|': 'upright line' }),
  encodings: optionsOf({
    'utf-8': 'UTF-8',
    'windows-1252': 'Windows-1252 (Western European)',
    'utf-16le': 'UTF-16, little end first',
    'utf-16be': 'UTF-16, big end first',
  }),
};
// Every choice there is has its words, and none that there is not.
const COMPLETE = [
  [CHOICES.orders, DATE_ORDERS],
  [CHOICES.doubles, ON_DOUBLE],
  [CHOICES.shared, ON_SHARED],
  [CHOICES.delimiters, DELIMITERS],
  [CHOICES.encodings, ENCODINGS],
] as const;
for (const [options, values] of COMPLETE) {
  if (options.length !== values.length) throw new Error(`A choice lacks its words: ${values.join(', ')}`);
}

const SHOWN_SIGNS = 40;

function short(cell: string): string {
  const signs = [...cell.replace(/\s+/g, ' ').trim()];
  return signs.length > SHOWN_SIGNS ? `${signs.slice(0, SHOWN_SIGNS).join('')}…` : signs.join('');
}

/** The values of the form that sets an import up. */
export function settingsValues({ settings, delimiter, encoding, kind }: ImportRun): Record<string, string> {
  const columns = IMPORT_FIELDS[kind].map(({ key }) => [
    `column.${key}`,
    String(settings.mapping[key] ?? ''),
  ]);
  return {
    ...Object.fromEntries(columns),
    dateOrder: settings.dateOrder ?? '',
    onDouble: settings.onDouble,
    onShared: settings.onShared,
    units: settings.units,
    serviceId: settings.serviceId ?? '',
    staffId: settings.staffId ?? '',
    outsideRota: String(settings.outsideRota),
    delimiter,
    encoding,
  };
}

/** What such a form sends, as the room takes it. */
export function settingsOf(values: Readonly<Record<string, string>>): Record<string, unknown> {
  const mapping: Record<string, string> = {};
  const others: Record<string, string> = {};
  for (const [name, value] of Object.entries(values)) {
    if (name.startsWith('column.')) mapping[name.slice('column.'.length)] = value;
    else if (name !== 'step') others[name] = value;
  }
  return { ...others, mapping };
}

/** The room names a column's box after its field. */
export function boxOf(field: string): string {
  return field.replace(/^mapping\./, 'column.');
}

/** One box a field: which column it is, each with its first cell, so that a wrong one is seen. */
function columnBoxes(kind: ImportKind, { headings, rows }: Preview): object[] {
  const options: Option[] = headings.map((heading, column) => {
    const sample = rows.map((row) => short(row[column] ?? '')).find((cell) => cell !== '');
    const name = heading || `column ${column + 1}`;
    return { value: String(column), label: sample ? `${name} (${sample})` : name };
  });
  return IMPORT_FIELDS[kind].map(({ key, label, hint }) => ({ name: `column.${key}`, label, hint, options }));
}

/** What the form that sets an import up shows. */
export function setUpView(
  run: ImportRun,
  preview: Preview,
  { form, staff, services }: { form: FormState; staff: readonly Option[]; services: readonly Option[] },
) {
  const { kind, format, survey } = run;
  const dates = Object.keys(survey.orders).length > 0;
  const parties = kind === 'visits' || kind === 'lengths' || kind === 'appointments';
  return {
    form,
    // Once there is a report, that is what is looked at.
    folded: run.pass !== null && form.problems.length === 0,
    columns: columnBoxes(kind, preview),
    choices: CHOICES,
    asksOrder: dates && format === 'csv',
    asksDoubles: kind === 'clients',
    asksUnits: kind === 'lengths' || kind === 'clients',
    asksParties: parties,
    asksRota: kind === 'appointments',
    isSheet: format === 'csv',
    staff,
    services,
    table: {
      headings: preview.headings.map((heading, i) => heading || `column ${i + 1}`),
      rows: preview.rows.map((row) => preview.headings.map((_, i) => short(row[i] ?? ''))),
    },
  };
}

/** How far an import is, in numbers and words. */
export function progressView(run: ImportRun, abandoned: boolean) {
  const underWay = (run.state === 'checking' || run.state === 'running') && !abandoned;
  const rows = run.survey.rows;
  const counts: Record<Outcome, number> = {
    new: run.newRows,
    changed: run.changedRows,
    same: run.sameRows,
    skipped: run.skippedRows,
    refused: run.refusedRows,
  };
  const halted = run.state === 'stopped' || run.state === 'failed' || abandoned;
  return {
    id: run.id,
    kind: KIND_WORDS[run.kind],
    fileName: run.fileName,
    rows: counted(rows, 'row'),
    rowsTotal: rows,
    rowsDone: run.rowsDone,
    state: abandoned ? 'cut short' : STATE_WORDS[run.state],
    underWay,
    checking: run.pass === 'check',
    began: run.pass === 'run',
    halted,
    canGoOn: halted && run.pass === 'run',
    checked: run.state === 'checked',
    done: run.state === 'done',
    problem: run.problem,
    counts: OUTCOMES.map((outcome) => ({
      outcome,
      words: OUTCOME_WORDS[outcome],
      count: counts[outcome],
    })).filter(({ count }) => count > 0),
    refused: counts.refused,
    willWrite: counts.new + counts.changed,
  };
}

export function outcomeWords(outcome: Outcome): string {
  return OUTCOME_WORDS[outcome];
}
