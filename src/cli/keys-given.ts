import { readFileSync } from 'node:fs';
import type { Command } from 'commander';
import { identitiesIn, type Lock, type Opening } from '../keep/index.js';
import type { Settings } from '../store/index.js';

export type LockOptions = { readonly recipient?: readonly string[]; readonly passphraseFile?: string };
export type OpeningOptions = { readonly identity?: string; readonly passphraseFile?: string };

const collected = (value: string, before: readonly string[] = []): string[] => [...before, value];

function passphraseIn(file: string): string {
  const [first = ''] = readFileSync(file, 'utf8').split('\n');
  return first.trim();
}

/** Options by which a file that is written is encrypted. */
export function withLock(command: Command): Command {
  return command
    .option(
      '-r, --recipient <age1...>',
      'encrypt for this public key; may be repeated (else BACKUP_RECIPIENTS)',
      collected,
    )
    .option(
      '--passphrase-file <file>',
      'encrypt with the passphrase in the first line of this file (else BACKUP_PASSPHRASE)',
    );
}

/** Options by which an encrypted file is opened. */
export function withOpening(command: Command): Command {
  return command
    .option(
      '-i, --identity <file>',
      'file with the secret key AGE-SECRET-KEY-1... that opens it (else BACKUP_IDENTITY_FILE)',
    )
    .option(
      '--passphrase-file <file>',
      'file whose first line is the passphrase that opens it (else BACKUP_PASSPHRASE)',
    );
}

/** What the command line says comes before what the environment says. */
export function lockOf({ recipient, passphraseFile }: LockOptions, { backup }: Settings): Lock {
  if (recipient !== undefined) return { recipients: recipient };
  if (passphraseFile !== undefined) return { passphrase: passphraseIn(passphraseFile) };
  return { recipients: backup.recipients, passphrase: backup.passphrase };
}

export function openingOf({ identity, passphraseFile }: OpeningOptions, { backup }: Settings): Opening {
  const file = identity ?? (process.env['BACKUP_IDENTITY_FILE'] || undefined);
  return {
    identities: file === undefined ? [] : identitiesIn(readFileSync(file, 'utf8')),
    passphrase: passphraseFile === undefined ? backup.passphrase : passphraseIn(passphraseFile),
  };
}
