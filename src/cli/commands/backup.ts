import { tmpdir } from 'node:os';
import { resolve } from 'node:path';
import type { Command } from 'commander';
import { DomainError, SystemClock } from '../../base/index.js';
import { forgetExpired, makeBackup, newBackupKey, restoreBackup, verifyBackup } from '../../keep/index.js';
import { inspect } from '../inspect.js';
import {
  type LockOptions,
  lockOf,
  type OpeningOptions,
  openingOf,
  withLock,
  withOpening,
} from '../keys-given.js';
import { acts, shows, type Told } from '../told.js';

const MEBIBYTE = 1024 * 1024;
const size = (bytes: number) => `${(bytes / MEBIBYTE).toFixed(1)} MiB`;

function keyHint(keys: readonly string[]): string[] {
  if (keys.length === 0) return [];
  return [`Its health words and photographs open with the key ${keys.join(', ')}, which is not in it.`];
}

type BackupOptions = LockOptions & { readonly newKey?: boolean; readonly prune?: boolean };

export function addBackup(program: Command): void {
  const backup = program
    .command('backup')
    .summary('back everything up into one file, while the server runs')
    .description(
      'Backs the database, the photographs and the link key up into one file, while the server runs. The file gets its ' +
        'name only when all of it is on the disk. Encrypted (age format) if a public key or a passphrase is given.',
    )
    .argument('[folder]', 'where to put it (else BACKUP_DIR)')
    .option('--prune', 'then remove backups there that are older than BACKUP_KEEP_DAYS, never the newest')
    .option('--new-key', 'only print a fresh pair of keys: keep the secret one apart from the server');
  withLock(backup);
  acts(backup, async (settings, folder: string | undefined, options: BackupOptions): Promise<Told> => {
    if (options.newKey) {
      const key = await newBackupKey();
      const lines = [
        `# public key, for BACKUP_RECIPIENTS: ${key.recipient}`,
        '# secret key: keep this file apart from the server and from the backups',
        key.identity,
      ];
      return { lines, data: key };
    }
    const into = folder ?? settings.backup.dir;
    if (into === undefined) {
      throw DomainError.invalid(
        'BACKUP.NO_FOLDER',
        'folder',
        'Name a folder for the backup, or set BACKUP_DIR.',
      );
    }
    const now = new SystemClock().now();
    const made = await makeBackup({ settings, folder: resolve(into), lock: lockOf(options, settings), now });
    const pruned = options.prune ? await forgetExpired(resolve(into), now, settings.backup.keepDays) : [];
    const { path, bytes, sha256, photos, encrypted, manifest } = made;
    const lines = [
      `Wrote ${path}`,
      `${size(bytes)}, ${photos} photographs, ${encrypted ? 'encrypted' : 'not encrypted'}; SHA-256 ${sha256}`,
      ...keyHint(manifest.keys),
      ...pruned.map((name) => `Removed ${name}`),
    ];
    const { keys, missingPhotos } = manifest;
    return { lines, data: { path, bytes, sha256, photos, encrypted, keys, missingPhotos, pruned } };
  });
  shows(
    backup,
    'halfinch backup /mnt/backups',
    'halfinch backup --new-key > backup-secret.txt',
    'halfinch backup /mnt/backups --recipient age1hdl0q0rt8yt5js8tm7zvshn30q3mqjzja45dny03e4p8knccucmqcvp9fv',
  );

  const restore = program
    .command('restore')
    .summary('bring a backup back into a fresh data folder')
    .description(
      'Brings a backup back into a fresh data folder, after checking all of it. Refuses where a database or photographs ' +
        'are already. Put your copy of the health key where HALFINCH_KEY_FILE says.',
    )
    .argument('<file>', 'the backup');
  withOpening(restore);
  acts(restore, async (settings, file: string, options: OpeningOptions): Promise<Told> => {
    const opening = openingOf(options, settings);
    const { madeAt, database, keys, files } = await restoreBackup({ settings, file: resolve(file), opening });
    const lines = [
      `Restored the backup of ${madeAt} into ${settings.dataDir}: ${database.rows['client'] ?? 0} clients, ` +
        `${database.rows['visit'] ?? 0} visits.`,
      ...keyHint(keys),
    ];
    const { dataDir } = settings;
    return { lines, data: { madeAt, dataDir, keys, rows: database.rows, files: files.length } };
  });
  shows(
    restore,
    'halfinch restore halfinch-20261125T031500Z.tar.gz.age -i backup-secret.txt --data /srv/new',
  );

  const verify = program
    .command('verify')
    .summary('check a backup, or the installation itself')
    .description(
      'With a backup: reads it through, compares every checksum and has its database checked. Without one: checks the ' +
        'installation itself: database pages and references, audit trail, keys, photographs. Ends with 1 when ' +
        'something is not as it should be.',
    )
    .argument('[file]', 'the backup');
  withOpening(verify);
  acts(verify, async (settings, file: string | undefined, options: OpeningOptions): Promise<Told> => {
    if (file === undefined) return await inspect(settings);
    const opening = openingOf(options, settings);
    const manifest = await verifyBackup({ file: resolve(file), opening, scratch: tmpdir() });
    const { madeAt, database, keys, files } = manifest;
    const lines = [
      `The backup of ${madeAt} is whole: ${files.length} files, ${database.rows['client'] ?? 0} clients.`,
      ...keyHint(keys),
    ];
    return {
      lines,
      data: { madeAt, keys, rows: database.rows, auditHead: database.auditHead, files: files.length },
    };
  });
  shows(verify, 'halfinch verify', 'halfinch verify /mnt/backups/halfinch-20261125T031500Z.tar.gz');
}
