import { writeFile } from 'node:fs/promises';
import { Module } from '@nestjs/common';
import { NestFactory } from '@nestjs/core';
import { type Command, InvalidArgumentError, Option } from 'commander';
import { MIGRATIONS } from '../../../migrations/index.js';
import { ENTITIES } from '../../entities.js';
import {
  DATE_ORDERS,
  ExchangeModule,
  IMPORT_KINDS,
  type ImportRun,
  Imports,
  importFile,
  ON_DOUBLE,
  ON_SHARED,
  type Progress,
} from '../../exchange/index.js';
import { IdentityModule, SYSTEM } from '../../identity/index.js';
import { Salons, UNITS } from '../../salon/index.js';
import { type Settings, StoreModule } from '../../store/index.js';
import { acts, type CommonOptions, shows, type Told } from '../told.js';

const BAR_SIGNS = 30;

type ImportOptions = CommonOptions & {
  readonly check?: boolean;
  readonly column?: Readonly<Record<string, number | null>>;
  readonly refused?: string;
  readonly salon?: string;
} & Readonly<
    Record<'dateOrder' | 'onDouble' | 'onShared' | 'units' | 'service' | 'stylist', string | undefined>
  > & {
    readonly outsideRota?: boolean;
  };

/** "phone=4" as field and column from 0; "phone=0" for a field that no column stands for. */
function columnOf(
  text: string,
  before: Readonly<Record<string, number | null>> = {},
): Readonly<Record<string, number | null>> {
  const [, field, column] = /^([\w.-]+)=(\d{1,3})$/.exec(text) ?? [];
  if (!field || column === undefined) throw new InvalidArgumentError('Write FIELD=NUMBER, such as phone=4.');
  return { ...before, [field]: column === '0' ? null : Number(column) - 1 };
}

/** A bar on standard error, where somebody watches. */
function bar({ rowsDone, rows }: Progress): void {
  if (!process.stderr.isTTY) return;
  const full = '#'.repeat(Math.round((rowsDone / Math.max(rows, 1)) * BAR_SIGNS));
  process.stderr.write(`\r[${full.padEnd(BAR_SIGNS, '.')}] ${rowsDone} of ${rows} rows`);
  if (rowsDone >= rows) process.stderr.write('\n');
}

/** Runs `work` with the imports of this installation, without a server around them. */
async function withImports<T>(
  settings: Settings,
  work: (imports: Imports, salons: Salons) => Promise<T>,
): Promise<T> {
  @Module({
    imports: [
      StoreModule.with({ settings, entities: ENTITIES, migrations: MIGRATIONS }),
      IdentityModule,
      ExchangeModule,
    ],
  })
  class ImportProcess {}
  const app = await NestFactory.createApplicationContext(ImportProcess, {
    logger: ['error'],
    abortOnError: false,
  });
  app.enableShutdownHooks();
  try {
    return await work(app.get(Imports, { strict: false }), app.get(Salons, { strict: false }));
  } finally {
    await app.close();
  }
}

async function told(imports: Imports, run: ImportRun, { refused }: ImportOptions): Promise<Told> {
  const { id, state, newRows, changedRows, sameRows, skippedRows, refusedRows, problem } = run;
  const lines = [
    `${run.pass === 'check' ? 'Would be' : 'Import'} ${id}: ${newRows} new, ${changedRows} changed, ${sameRows} the same, ` +
      `${skippedRows} left out, ${refusedRows} refused.`,
  ];
  const isWhole = state === 'done' || state === 'checked';
  if (problem) lines.push(problem);
  if (!isWhole) lines.push(`It is not finished: "halfinch import resume ${id}" goes on.`);
  if (isWhole && refusedRows > 0) {
    if (refused === undefined) lines.push('Give --refused FILE to have the refused rows with the reasons.');
    else {
      await writeFile(refused, await imports.refused(id, SYSTEM), { mode: 0o600 });
      lines.push(`The refused rows with the reasons are in ${refused}.`);
    }
  }
  const counts = { new: newRows, changed: changedRows, same: sameRows, skipped: skippedRows };
  return {
    lines,
    data: { import: id, state, counts: { ...counts, refused: refusedRows }, problem },
    exitCode: isWhole && refusedRows === 0 ? 0 : 1,
  };
}

export function addImport(program: Command): void {
  const command = program
    .command('import')
    .description('take over clients, visits, lengths, skin tests and appointments from files');
  const refused = new Option('--refused <file>', 'write refused rows with the reasons there, as CSV');
  const file = command
    .command('file')
    .description(
      'Takes a file over: CSV; clients also from vCard, appointments also from iCalendar. Columns are guessed from the ' +
        'headings. May run beside a running server; ends with 1 when rows were refused.',
    )
    .argument('<kind>', `what it holds: ${IMPORT_KINDS.join(', ')}`)
    .argument('<file>', 'the file')
    .option('--salon <id>', 'salon it belongs to, where there are several')
    .option('--check', 'say what would happen and change nothing')
    .addOption(
      new Option('--date-order <order>', 'where the dates can be read both ways').choices(DATE_ORDERS),
    )
    .addOption(
      new Option('--on-double <what>', 'clients who are here already (else fill)').choices(ON_DOUBLE),
    )
    .addOption(
      new Option('--on-shared <what>', 'same phone or mail, another name (else add)').choices(ON_SHARED),
    )
    .addOption(new Option('--units <unit>', 'what bare lengths are in (else as the salon)').choices(UNITS))
    .option('--service <id>', 'service of rows that name none')
    .option('--stylist <id>', 'stylist of rows that name none')
    .option('--outside-rota', 'book where the rota has no work')
    .option('--column <field=number>', 'say which column a field is in, from 1; 0 for none', columnOf)
    .addOption(refused);
  acts(file, async (settings, kind: string, path: string, options: ImportOptions): Promise<Told> => {
    const {
      check,
      column: mapping,
      dateOrder,
      onDouble,
      onShared,
      units,
      service,
      stylist,
      outsideRota,
    } = options;
    const wishes = {
      mapping,
      dateOrder,
      onDouble,
      onShared,
      units,
      serviceId: service,
      staffId: stylist,
      outsideRota,
    };
    const given = Object.fromEntries(Object.entries(wishes).filter(([, value]) => value !== undefined));
    return await withImports(settings, async (imports, salons) => {
      const salonId = options.salon ?? (await salons.only()).id;
      const wish = { salonId, kind, path, settings: given, pass: check ? 'check' : 'run' } as const;
      return await told(imports, await importFile(imports, wish, SYSTEM, bar), options);
    });
  });
  shows(
    file,
    'halfinch import file clients clients.csv --check --date-order day-first',
    'halfinch import file appointments calendar.ics --stylist ID --service ID --refused refused.csv',
  );
  const resume = command
    .command('resume')
    .description('Goes on with an import that was stopped or cut short.')
    .argument('<import>', 'its number, as "import file" and the page show it')
    .addOption(refused);
  acts(resume, async (settings, id: string, options: ImportOptions): Promise<Told> => {
    return await withImports(settings, async (imports) =>
      told(imports, await imports.runThrough(id, 'run', SYSTEM, bar), options),
    );
  });
  shows(resume, 'halfinch import resume 01920f5e-7c1a-7000-8000-000000000000');
}
