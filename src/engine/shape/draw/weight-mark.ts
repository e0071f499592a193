import type { Outline } from '../outline.js';
import { PAINT } from './palette.js';
import { point } from './path.js';

/** A short stroke outside the hair at the height of the line, on its outer edge, and a fine one into the hair. */
export function weightMark(outline: Outline, zMm: number): string {
  const edges = crossings(outline, zMm);
  const left = edges[0];
  const right = edges[edges.length - 1];
  if (left === undefined || right === undefined) return '';
  const inner = (from: number, to: number) =>
    `<path d="M${point(from, zMm)}L${point(to, zMm)}" stroke="${PAINT.mark}" stroke-width=".9" stroke-opacity=".55" stroke-dasharray="4 3"/>`;
  const outer = (from: number, to: number) =>
    `<path d="M${point(from, zMm)}L${point(to, zMm)}" stroke="${PAINT.mark}" stroke-width="2" stroke-linecap="round"/>`;
  if (outline.view === 'right') return outer(left - 14, left - 4) + inner(left, left + 62);
  if (outline.view === 'left') return outer(right + 4, right + 14) + inner(right - 62, right);
  return outline.view === 'back'
    ? outer(left - 14, left - 4) + outer(right + 4, right + 14) + inner(left, right)
    : '';
}

/** Where the outline of the near hair passes the height, from the viewer's left to right. */
function crossings(outline: Outline, zMm: number): number[] {
  const found: number[] = [];
  for (const loop of outline.near) {
    for (let i = 0; i < loop.length; i += 2) {
      const j = (i + 2) % loop.length;
      const v = loop[i + 1]!;
      const w = loop[j + 1]!;
      if (v >= zMm !== w >= zMm) found.push(loop[i]! + ((loop[j]! - loop[i]!) * (zMm - v)) / (w - v));
    }
  }
  return found.sort((a, b) => a - b);
}
