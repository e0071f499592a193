import { createCipheriv, createDecipheriv, createHash, randomBytes } from 'node:crypto';

const CIPHER = 'aes-256-gcm';
const KEY_BYTES = 32;
/** NIST SP 800-38D 8.2: 96-bit initialisation vectors; random ones for at most 2^32 values a key. */
const IV_BYTES = 12;
const TAG_BYTES = 16;
/** Begins a sealed file. */
const FILE_MARK = Buffer.from('halfinch-sealed-1:');
const KEY_ID_LENGTH = 8;
const SEALED = /^sealed:1:([0-9a-f]{8}):([\w-]+)$/;

/** Thrown where a sealed value cannot be opened or nothing can be sealed; says what to do about it. */
export class KeyError extends Error {
  override readonly name = 'KeyError';
}

export type Key = { readonly id: string; readonly bytes: Buffer };

/** A fresh random key, as it stands in a key file. */
export function newKeyText(): string {
  return randomBytes(KEY_BYTES).toString('base64');
}

/** Reads 32 bytes in base64. Throws KeyError. The id is the start of a hash and tells nothing of the key. */
export function keyFrom(text: string): Key {
  const bytes = Buffer.from(text.trim(), 'base64');
  if (bytes.length !== KEY_BYTES || bytes.toString('base64') !== text.trim()) {
    throw new KeyError(
      `A key must be ${KEY_BYTES} random bytes in base64 (44 characters), as "openssl rand -base64 32" writes them.`,
    );
  }
  return { id: createHash('sha256').update(bytes).digest('hex').slice(0, 8), bytes };
}

/**
 * The keys of this process. New values are sealed with the current key; a value says which key opens it, so that old
 * keys go on reading until everything is sealed anew.
 */
export class Keyring {
  private readonly keys = new Map<string, Key>();
  private current: Key | undefined;

  /** Adds keys; the first becomes the current one. */
  use(keys: readonly Key[]): void {
    for (const key of keys) this.keys.set(key.id, key);
    this.current = keys[0] ?? this.current;
  }

  /** Id of the key that seals; undefined before any was given. */
  get currentId(): string | undefined {
    return this.current?.id;
  }

  has(keyId: string): boolean {
    return this.keys.has(keyId);
  }

  /** AES-256-GCM; `place` ("client.healthNotes") is authenticated, so that a value opens only where it belongs. */
  seal(words: string, place: string): string {
    const key = this.sealing();
    return `sealed:1:${key.id}:${encrypted(key, Buffer.from(words), place).toString('base64url')}`;
  }

  /** Words that were never sealed come back as they are. Throws KeyError for a missing key or a tampered value. */
  open(stored: string, place: string): string {
    const keyId = sealedWith(stored);
    if (keyId === undefined) return stored;
    const bytes = Buffer.from(stored.slice(stored.lastIndexOf(':') + 1), 'base64url');
    return decrypted(this.opening(keyId, place), bytes, place).toString('utf8');
  }

  /** The same for a file's content; `place` is what it is kept as. */
  sealBytes(data: Buffer, place: string): Buffer {
    const key = this.sealing();
    return Buffer.concat([FILE_MARK, Buffer.from(key.id), encrypted(key, data, place)]);
  }

  /** Content that was never sealed comes back as it is. Throws KeyError as `open` does. */
  openBytes(stored: Buffer, place: string): Buffer {
    const keyId = fileSealedWith(stored);
    if (keyId === undefined) return stored;
    return decrypted(this.opening(keyId, place), stored.subarray(FILE_MARK.length + KEY_ID_LENGTH), place);
  }

  private sealing(): Key {
    if (this.current) return this.current;
    throw new KeyError('There is no key for health notes yet: set HALFINCH_KEY or HALFINCH_KEY_FILE.');
  }

  private opening(keyId: string, place: string): Key {
    const key = this.keys.get(keyId);
    if (key) return key;
    throw new KeyError(`${place} was sealed with key ${keyId}, which is not here. Put that key back.`);
  }
}

/** Initialisation vector, what it encrypts, and the tag. */
function encrypted(key: Key, plain: Buffer, place: string): Buffer {
  const iv = randomBytes(IV_BYTES);
  const cipher = createCipheriv(CIPHER, key.bytes, iv).setAAD(Buffer.from(place));
  return Buffer.concat([iv, cipher.update(plain), cipher.final(), cipher.getAuthTag()]);
}

function decrypted(key: Key, bytes: Buffer, place: string): Buffer {
  if (bytes.length < IV_BYTES + TAG_BYTES) throw new KeyError(`${place} was damaged where it is kept.`);
  const decipher = createDecipheriv(CIPHER, key.bytes, bytes.subarray(0, IV_BYTES))
    .setAAD(Buffer.from(place))
    .setAuthTag(bytes.subarray(-TAG_BYTES));
  try {
    return Buffer.concat([decipher.update(bytes.subarray(IV_BYTES, -TAG_BYTES)), decipher.final()]);
  } catch (cause) {
    throw new KeyError(`${place} was changed by something else than this program.`, { cause });
  }
}

/** Id of the key that a file's content was sealed with; undefined when it is not sealed. */
export function fileSealedWith(stored: Buffer): string | undefined {
  if (!stored.subarray(0, FILE_MARK.length).equals(FILE_MARK)) return undefined;
  return stored.subarray(FILE_MARK.length, FILE_MARK.length + KEY_ID_LENGTH).toString('latin1');
}

/** Id of the key that a stored value was sealed with; undefined when it is not sealed. */
export function sealedWith(stored: string): string | undefined {
  return SEALED.exec(stored)?.[1];
}

/** Column transformers know no injection: there is one keyring a process. */
export const keyring = new Keyring();
