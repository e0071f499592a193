import 'reflect-metadata';
import { Module } from '@nestjs/common';
import { NestFactory } from '@nestjs/core';
import { MIGRATIONS } from '../../migrations/index.js';
import { DomainError } from '../base/index.js';
import { ENTITIES } from '../entities.js';
import {
  ExchangeModule,
  IMPORT_KINDS,
  type ImportRun,
  Imports,
  importFile,
  type Progress,
} from '../exchange/index.js';
import { IdentityModule, SYSTEM } from '../identity/index.js';
import { readSettings, StoreModule } from '../store/index.js';

const USAGE = `Usage: node dist/src/cli/import.js KIND FILE [--check] [NAME=VALUE ...]
       node dist/src/cli/import.js resume ID
Takes over a file: ${IMPORT_KINDS.join(', ')} from CSV, clients also from vCard (.vcf), appointments also from
iCalendar (.ics). Columns are guessed from the headings. It may run beside a running Halfinch.
  --check            says what would happen and changes nothing
  dateOrder=day-first | month-first     where the dates can be read both ways
  onDouble=keep | fill | theirs | skip  what happens to clients who are here already (fill)
  onShared=add | refuse                 same phone or mail, another name (add)
  units=cm | in | mm                    what bare lengths are in (the salon's own)
  serviceId=ID staffId=ID               for rows that name none
  outsideRota=true                      books where the rota has no work
  column.FIELD=N     field FIELD stands in column N, from 1; 0 for none
Refused rows are written to standard output as CSV with the reasons. Ends with 0 when no row was refused, with 1 when
something went wrong, with 2 for a wrong command, with 3 when rows were refused.`;

type Wish = { readonly check: boolean; readonly settings: Record<string, unknown> };

/** Undefined for anything that is not in the usage. */
function wishOf(words: readonly string[]): Wish | undefined {
  const settings: Record<string, unknown> = {};
  const columns: Record<string, number | null> = {};
  for (const word of words.filter((one) => one !== '--check')) {
    const [, name = '', value = ''] = /^([\w.-]+)=(.*)$/.exec(word) ?? [];
    if (name === '') return undefined;
    const [, field] = /^column\.(.+)$/.exec(name) ?? [];
    if (field === undefined) settings[name] = value;
    else if (!/^\d{1,3}$/.test(value)) return undefined;
    else columns[field] = value === '0' ? null : Number(value) - 1;
  }
  return {
    check: words.includes('--check'),
    settings: { ...settings, ...(Object.keys(columns).length > 0 && { mapping: columns }) },
  };
}

function bar({ rowsDone, rows }: Progress): void {
  if (!process.stderr.isTTY) return;
  const share = rows === 0 ? 1 : rowsDone / rows;
  const full = '#'.repeat(Math.round(share * 30)).padEnd(30, '.');
  process.stderr.write(`\r[${full}] ${rowsDone} of ${rows} rows`);
  if (rowsDone >= rows) process.stderr.write('\n');
}

async function tell(imports: Imports, run: ImportRun): Promise<number> {
  const { newRows, changedRows, sameRows, skippedRows, refusedRows } = run;
  console.error(
    `${run.pass === 'check' ? 'Would be' : 'Import'} ${run.id}: ${newRows} new, ${changedRows} changed, ${sameRows} the same, ` +
      `${skippedRows} left out, ${refusedRows} refused.`,
  );
  if (run.problem) console.error(run.problem);
  if (run.state !== 'done' && run.state !== 'checked') {
    console.error(`It is not finished: "node dist/src/cli/import.js resume ${run.id}" goes on.`);
    return 1;
  }
  if (refusedRows === 0) return 0;
  process.stdout.write(await imports.refused(run.id, SYSTEM));
  return 3;
}

async function main([first, second, ...rest]: readonly string[]): Promise<number> {
  const wish = wishOf(rest);
  const isKnown = first === 'resume' || IMPORT_KINDS.some((kind) => kind === first);
  if (!isKnown || first === undefined || second === undefined || !wish) {
    console.error(USAGE);
    return 2;
  }
  const settings = readSettings(process.env);
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
    const imports = app.get(Imports, { strict: false });
    const run =
      first === 'resume'
        ? await imports.runThrough(second, 'run', SYSTEM, bar)
        : await importFile(
            imports,
            { kind: first, path: second, settings: wish.settings, pass: wish.check ? 'check' : 'run' },
            SYSTEM,
            bar,
          );
    return await tell(imports, run);
  } finally {
    await app.close();
  }
}

try {
  process.exitCode = await main(process.argv.slice(2));
} catch (error) {
  console.error(error instanceof DomainError || !(error instanceof Error) ? String(error) : error.message);
  process.exitCode = 1;
}
