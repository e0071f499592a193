import { Readable } from 'node:stream';
import type { ReadableStream as WebStream } from 'node:stream/web';
import type { Encrypter } from 'age-encryption';
import { DomainError } from '../base/index.js';

/** What a file is encrypted for; none of both leaves it readable by whoever has it. */
export type Lock = {
  /** Public keys as the age format writes them, "age1…"; the file opens with the secret key of any one of them. */
  readonly recipients?: readonly string[];
  /** Costs about three seconds and 256 MB at each use (scrypt), so public keys suit a running server better. */
  readonly passphrase?: string | undefined;
  /** Binary logarithm of what scrypt must do for the passphrase; 18 unless said. */
  readonly workFactor?: number;
};

/** What may open a file. */
export type Opening = {
  /** Secret keys, "AGE-SECRET-KEY-1…". */
  readonly identities?: readonly string[];
  readonly passphrase?: string | undefined;
};

/** Begins every file of the age format, version 1 (age-encryption.org/v1). */
const AGE_MARK = 'age-encryption.org/v1';

export function isLocking({ recipients = [], passphrase }: Lock): boolean {
  return recipients.length > 0 || passphrase !== undefined;
}

export function isAge(start: Buffer): boolean {
  return start.toString('latin1').startsWith(AGE_MARK);
}

/** Throws KEEP.RECIPIENT_UNKNOWN. Public keys come before a passphrase: the format knows no file with both. */
async function encrypterOf({ recipients = [], passphrase, workFactor }: Lock): Promise<Encrypter> {
  const { Encrypter } = await import('age-encryption');
  const encrypter = new Encrypter();
  if (passphrase !== undefined && recipients.length === 0) encrypter.setPassphrase(passphrase);
  if (workFactor !== undefined) encrypter.setScryptWorkFactor(workFactor);
  for (const recipient of recipients) {
    try {
      encrypter.addRecipient(recipient);
    } catch {
      throw DomainError.invalid(
        'KEEP.RECIPIENT_UNKNOWN',
        'recipient',
        `"${recipient}" is no public key: it begins with age1, and "halfinch backup --new-key" makes one.`,
      );
    }
  }
  return encrypter;
}

/** The same bytes encrypted, or as they are where there is no lock. */
export async function locked(plain: Readable, lock: Lock): Promise<Readable> {
  if (!isLocking(lock)) return plain;
  const encrypter = await encrypterOf(lock);
  const web = Readable.toWeb(plain) as ReadableStream<Uint8Array>;
  return Readable.fromWeb((await encrypter.encrypt(web)) as WebStream<Uint8Array>);
}

/** Throws KEEP.KEY_NEEDED, KEEP.IDENTITY_UNKNOWN, KEEP.WRONG_KEY; a damaged file throws while it is read. */
export async function unlocked(
  sealed: Readable,
  { identities = [], passphrase }: Opening,
): Promise<Readable> {
  if (identities.length === 0 && passphrase === undefined) {
    throw new DomainError(
      'refused',
      'KEEP.KEY_NEEDED',
      'This file is encrypted. Give its secret key with --identity FILE, or its passphrase with --passphrase-file FILE ' +
        'or BACKUP_PASSPHRASE.',
    );
  }
  const { Decrypter } = await import('age-encryption');
  const decrypter = new Decrypter();
  if (passphrase !== undefined) decrypter.addPassphrase(passphrase);
  for (const identity of identities) {
    try {
      decrypter.addIdentity(identity);
    } catch {
      throw DomainError.invalid(
        'KEEP.IDENTITY_UNKNOWN',
        'identity',
        'The identity file holds no secret key: a line of it must begin with AGE-SECRET-KEY-1.',
      );
    }
  }
  const web = Readable.toWeb(sealed) as ReadableStream<Uint8Array>;
  try {
    return Readable.fromWeb((await decrypter.decrypt(web)) as WebStream<Uint8Array>);
  } catch (error) {
    if (/no identity matched/.test((error as Error).message)) {
      throw new DomainError(
        'refused',
        'KEEP.WRONG_KEY',
        'This key or passphrase does not open the file. It was encrypted for another one.',
      );
    }
    throw error;
  }
}

/** A fresh secret key and the public key that goes with it, as age-keygen makes them (X25519). */
export async function newBackupKey(): Promise<{ readonly identity: string; readonly recipient: string }> {
  const { generateX25519Identity, identityToRecipient } = await import('age-encryption');
  const identity = await generateX25519Identity();
  return { identity, recipient: await identityToRecipient(identity) };
}

/** The secret keys of an identity file: its lines without comments. */
export function identitiesIn(text: string): string[] {
  return text
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '' && !line.startsWith('#'));
}
