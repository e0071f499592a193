import { describe, expect, it } from '@jest/globals';
import type { View } from '../view.js';
import { PAINT } from './palette.js';
import { weightMark } from './weight-mark.js';

/** A block of hair from -50 to 50 across and -60 to 60 up. */
const block = Float32Array.of(-50, -60, 50, -60, 50, 60, -50, 60);
const marked = (view: View, zMm = -40, near = [block]) => weightMark({ view, near, far: [] }, zMm);
const outer = (d: string) =>
  `<path d="${d}" stroke="${PAINT.mark}" stroke-width="2" stroke-linecap="round"/>`;
const inner = (d: string) =>
  `<path d="${d}" stroke="${PAINT.mark}" stroke-width=".9" stroke-opacity=".55" stroke-dasharray="4 3"/>`;

describe('weightMark', () => {
  it('stands 4 to 14 mm behind the head in profile and runs 62 mm into the hair', () => {
    expect(marked('right')).toBe(outer('M-64 40L-54 40') + inner('M-50 40L12 40'));
    expect(marked('left')).toBe(outer('M54 40L64 40') + inner('M-12 40L50 40'));
  });

  it('stands on both sides from behind and runs across, and is not shown from the front', () => {
    expect(marked('back')).toBe(outer('M-64 40L-54 40') + outer('M54 40L64 40') + inner('M-50 40L50 40'));
    expect(marked('front')).toBe('');
  });

  it('is left out where no hair is at that height', () => {
    expect(marked('back', -70)).toBe('');
    expect(marked('back', 60.1)).toBe('');
  });

  it('reaches to the outermost edges of several pieces, whatever their order', () => {
    const piece = (from: number, to: number) => Float32Array.of(from, -60, to, -60, to, 60, from, 60);
    expect(marked('back', 0, [piece(20, 40), piece(-9, -5), piece(100, 120)])).toBe(
      outer('M-23 0L-13 0') + outer('M124 0L134 0') + inner('M-9 0L120 0'),
    );
  });

  it('meets slanting edges where they pass the height', () => {
    // From (0, 0) to (80, 40) and back down to (120, 0): a quarter of the way up at 20 and at 110.
    const roof = Float32Array.of(0, 0, 120, 0, 80, 40);
    expect(marked('back', 10, [roof])).toContain(inner('M20 -10L110 -10'));
  });

  it('takes a corner at the height itself as above it', () => {
    // The lower edge lies at the height: no side passes it, and none is divided by nothing.
    expect(marked('back', -60)).toBe('');
    expect(marked('back', 60)).toContain(inner('M-50 -60L50 -60'));
  });
});
