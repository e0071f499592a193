import { Readable } from 'node:stream';

export const ENCODINGS = ['utf-8', 'windows-1252', 'utf-16le', 'utf-16be'] as const;
export type Encoding = (typeof ENCODINGS)[number];

/** Looks at the bytes of a file as they pass and knows afterwards how its text is encoded. */
export class EncodingWatch {
  private readonly strict = new TextDecoder('utf-8', { fatal: true });
  private marked: Encoding | undefined;
  private started = false;
  private isUtf8 = true;
  private hasNull = false;

  see(bytes: Uint8Array): void {
    if (!this.started && bytes.length > 0) {
      this.started = true;
      if (bytes[0] === 0xff && bytes[1] === 0xfe) this.marked = 'utf-16le';
      if (bytes[0] === 0xfe && bytes[1] === 0xff) this.marked = 'utf-16be';
    }
    if (this.marked) return;
    if (!this.hasNull && bytes.includes(0)) this.hasNull = true;
    if (!this.isUtf8) return;
    try {
      this.strict.decode(bytes, { stream: true });
    } catch {
      this.isUtf8 = false;
    }
  }

  /** The encoding, or undefined where the bytes are no text at all. */
  finish(): Encoding | undefined {
    if (this.marked) return this.marked;
    if (this.hasNull) return undefined;
    if (this.isUtf8) {
      try {
        this.strict.decode();
      } catch {
        this.isUtf8 = false;
      }
    }
    return this.isUtf8 ? 'utf-8' : 'windows-1252';
  }
}

/** Text of a stream of bytes, piece by piece; a byte-order mark is taken off. */
export function decoded(bytes: AsyncIterable<Uint8Array>, encoding: Encoding): Readable {
  async function* pieces(): AsyncGenerator<string> {
    // WHATWG Encoding Standard: windows-1252 has no byte that is not a sign, so nothing is ever refused here.
    const decoder = new TextDecoder(encoding);
    for await (const piece of bytes) {
      const text = decoder.decode(piece, { stream: true });
      if (text !== '') yield text;
    }
    const rest = decoder.decode();
    if (rest !== '') yield rest;
  }
  return Readable.from(pieces(), { objectMode: true });
}
