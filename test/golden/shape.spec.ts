import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from '@jest/globals';
import { drawings } from './shapes.js';

// Regenerate with GOLDEN=write, then look at every drawing before keeping it.
const folder = fileURLToPath(new URL('./shape/', import.meta.url));
const files = drawings();

if (process.env['GOLDEN'] === 'write') {
  mkdirSync(folder, { recursive: true });
  for (const [name, svg] of files) writeFileSync(folder + name, `${svg}\n`);
}

/** A drawing taken apart into its numbers and what stands between them. */
function apart(svg: string): { words: string[]; numbers: number[] } {
  const number = /-?\d+(?:\.\d+)?/g;
  return { words: svg.trim().split(number), numbers: (svg.match(number) ?? []).map(Number) };
}

describe('golden drawings', () => {
  it('are all there and no others', () => {
    expect(readdirSync(folder).sort()).toEqual([...files.keys()].sort());
  });

  it.each([...files])('%s is what it was, to 0.2 mm, in at most 25 KB', (name, svg) => {
    const kept = apart(readFileSync(folder + name, 'utf8'));
    const now = apart(svg);
    expect(now.words).toEqual(kept.words);
    const farthest = now.numbers.reduce(
      (most, value, i) => Math.max(most, Math.abs(value - kept.numbers[i]!)),
      0,
    );
    expect(farthest).toBeLessThanOrEqual(0.2);
    expect(Buffer.byteLength(svg)).toBeLessThanOrEqual(25 * 1024);
  });
});
