import { createCipheriv, createDecipheriv, createHash, randomBytes } from 'node:crypto';

const CIPHER = 'aes-256-gcm';
const KEY_BYTES = 32;
/** NIST SP 800-38D 8.2: 96-bit initialisation vectors; random ones for at most 2^32 values a key. */
const IV_BYTES = 12;
const TAG_BYTES = 16;
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
    if (!this.current) {
      throw new KeyError('There is no key for health notes yet: set HALFINCH_KEY or HALFINCH_KEY_FILE.');
    }
    const iv = randomBytes(IV_BYTES);
    const cipher = createCipheriv(CIPHER, this.current.bytes, iv).setAAD(Buffer.from(place));
    const sealed = Buffer.concat([iv, cipher.update(words, 'utf8'), cipher.final(), cipher.getAuthTag()]);
    return `sealed:1:${this.current.id}:${sealed.toString('base64url')}`;
  }

  /** Words that were never sealed come back as they are. Throws KeyError for a missing key or a tampered value. */
  open(stored: string, place: string): string {
    const keyId = sealedWith(stored);
    if (keyId === undefined) return stored;
    const key = this.keys.get(keyId);
    if (!key) {
      throw new KeyError(`${place} was sealed with key ${keyId}, which is not here. Put that key back.`);
    }
    const bytes = Buffer.from(stored.slice(stored.lastIndexOf(':') + 1), 'base64url');
    if (bytes.length < IV_BYTES + TAG_BYTES) throw new KeyError(`${place} was damaged in the database.`);
    const decipher = createDecipheriv(CIPHER, key.bytes, bytes.subarray(0, IV_BYTES))
      .setAAD(Buffer.from(place))
      .setAuthTag(bytes.subarray(-TAG_BYTES));
    try {
      return Buffer.concat([
        decipher.update(bytes.subarray(IV_BYTES, -TAG_BYTES)),
        decipher.final(),
      ]).toString('utf8');
    } catch (cause) {
      throw new KeyError(`${place} was changed in the database by something else than this program.`, {
        cause,
      });
    }
  }
}

/** Id of the key that a stored value was sealed with; undefined when it is not sealed. */
export function sealedWith(stored: string): string | undefined {
  return SEALED.exec(stored)?.[1];
}

/** Column transformers know no injection: there is one keyring a process. */
export const keyring = new Keyring();
