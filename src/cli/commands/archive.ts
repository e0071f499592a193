import { resolve } from 'node:path';
import type { Command } from 'commander';
import { DomainError, SystemClock } from '../../base/index.js';
import { exportArchive, importArchive } from '../../keep/index.js';
import {
  type LockOptions,
  lockOf,
  type OpeningOptions,
  openingOf,
  withLock,
  withOpening,
} from '../keys-given.js';
import { withSources } from '../open.js';
import { acts, shows, type Told } from '../told.js';

const WARNING =
  'Whoever can read this file reads health words, names and pictures: keep it encrypted and delete it in time.';

function addExport(program: Command): void {
  const command = program
    .command('export')
    .summary('write everything into one archive of open formats')
    .description(
      'Writes everything into one archive of open formats (JSON Lines, JPEG, a text that explains them), from either ' +
        'database, while the server runs. Sealed words and photographs are in it in clear: encrypt it with a public key ' +
        'or a passphrase, or say --in-clear.',
    )
    .argument('<folder>', 'where to put it')
    .option('--in-clear', 'do not encrypt it');
  withLock(command);
  type Options = LockOptions & { readonly inClear?: boolean };
  acts(command, async (settings, folder: string, options: Options): Promise<Told> => {
    const lock = options.inClear ? {} : lockOf(options, settings);
    if (!options.inClear && (lock.recipients ?? []).length === 0 && lock.passphrase === undefined) {
      throw DomainError.invalid(
        'EXPORT.IN_CLEAR',
        'recipient',
        'An export holds health words in clear. Give --recipient or --passphrase-file, or say --in-clear.',
      );
    }
    const now = new SystemClock().now();
    const { path, bytes, sha256, encrypted, manifest } = await withSources(settings, (sources) =>
      exportArchive({ sources, settings, folder: resolve(folder), lock, now }),
    );
    const rows = manifest.tables.reduce((sum, table) => sum + table.rows, 0);
    const lines = [`Wrote ${path}: ${rows} rows of ${manifest.tables.length} tables.`];
    if (!encrypted) lines.push(WARNING);
    const { tables, missingPhotos, schema } = manifest;
    return { lines, data: { path, bytes, sha256, encrypted, schema, tables, missingPhotos } };
  });
  shows(
    command,
    'halfinch export /mnt/usb --passphrase-file words.txt',
    'halfinch export . --in-clear --json',
  );
}

/** Below "import", beside the files of other programs. */
function addImportArchive(program: Command): void {
  const parent = program.commands.find((one) => one.name() === 'import') ?? program.command('import');
  const command = parent
    .command('archive')
    .description(
      'Imports an archive that "halfinch export" wrote into an empty installation of the same version: all of it or ' +
        'nothing. Health words and photographs are sealed with the key of this installation.',
    )
    .argument('<file>', 'the archive');
  withOpening(command);
  acts(command, async (settings, file: string, options: OpeningOptions): Promise<Told> => {
    const opening = openingOf(options, settings);
    const { madeAt, tables, missingPhotos } = await withSources(settings, (sources) =>
      importArchive({ sources, settings, file: resolve(file), opening }),
    );
    const rows = tables.reduce((sum, table) => sum + table.rows, 0);
    return {
      lines: [`Imported ${rows} rows of ${tables.length} tables, as they stood at ${madeAt}.`],
      data: { madeAt, tables, missingPhotos },
    };
  });
  shows(command, 'halfinch import archive halfinch-export-20261125T120000Z.tar.gz --data /srv/new');
}

export function addArchive(program: Command): void {
  addExport(program);
  addImportArchive(program);
}
