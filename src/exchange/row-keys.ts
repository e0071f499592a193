import { createHash } from 'node:crypto';

/** SHA-256 of a list of texts, 43 characters: no text can run over into the next. */
export function digestOf(parts: readonly unknown[]): string {
  return createHash('sha256').update(JSON.stringify(parts)).digest('base64url');
}

/** 52 bits of the same, which fit a number: to look up whether something was seen, never to prove it. */
function shortDigest(text: string): number {
  const bytes = createHash('sha1').update(text).digest();
  return bytes.readUIntBE(0, 6) * 16 + (bytes[6]! >> 4);
}

/** Where in a file something was seen first, in about 40 bytes each. */
export class SeenRows {
  private readonly rows = new Map<number, number>();

  /** The row that said it first. */
  find(text: string): number | undefined {
    return this.rows.get(shortDigest(text));
  }

  note(text: string, row: number): void {
    const key = shortDigest(text);
    if (!this.rows.has(key)) this.rows.set(key, row);
  }
}
