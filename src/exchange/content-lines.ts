import type { Readable } from 'node:stream';
import { DomainError } from '../base/index.js';
import { MOST_RECORD_BYTES } from './records.js';

/** Pictures and sounds: long, and never looked at. */
const BULKY = /^(?:[\w-]+\.)?(?:PHOTO|LOGO|SOUND|KEY|ATTACH)[;:]/i;

/** The lines of a text, one after the other, whatever ends them. */
async function* linesOf(text: Readable): AsyncGenerator<string> {
  let rest = '';
  for await (const piece of text as AsyncIterable<string>) {
    const lines = (rest + piece).split(/\r\n|\n|\r(?!$)/);
    rest = lines.pop() ?? '';
    for (const line of lines) yield line;
  }
  if (rest.replace(/\r$/, '') !== '') yield rest.replace(/\r$/, '');
}

/** One BEGIN … END of a kind, its lines still folded, without pictures. */
export type Block = { readonly name: string; readonly text: string };

/**
 * The outermost blocks with one of these names (RFC 5545 and RFC 6350: BEGIN:name … END:name), streamed. Throws
 * IMPORT.NOT_A_CARD where one is larger than any can be, or never ends.
 */
export async function* blocksOf(text: Readable, names: readonly string[]): AsyncGenerator<Block> {
  let open: { name: string; lines: string[]; size: number } | undefined;
  let depth = 0;
  let skipping = false;
  for await (const raw of linesOf(text)) {
    const line = raw.replace(/^\uFEFF/, '');
    const [, begins] = /^BEGIN:\s*([\w-]+)\s*$/i.exec(line) ?? [];
    if (!open) {
      const name = begins?.toUpperCase();
      if (name && names.includes(name)) open = { name, lines: [line], size: line.length };
      depth = 1;
      continue;
    }
    const folded = /^[ \t]/.test(line);
    if (!folded) skipping = BULKY.test(line);
    if (skipping) continue;
    open.lines.push(line);
    open.size += line.length + 2;
    if (open.size > MOST_RECORD_BYTES) throw broken(`One ${open.name} in the file is far too long.`);
    if (begins) depth += 1;
    if (/^END:/i.test(line)) depth -= 1;
    if (depth === 0) {
      yield { name: open.name, text: `${open.lines.join('\r\n')}\r\n` };
      open = undefined;
    }
  }
  if (open) throw broken(`The file breaks off inside a ${open.name}.`);
}

function broken(words: string): DomainError {
  return DomainError.invalid('IMPORT.NOT_A_CARD', 'file', `File: ${words} Export it once more.`);
}
