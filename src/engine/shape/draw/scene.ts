import { type Outline, outlineFrom, type Silhouette, shortPatches } from '../outline.js';
import { ROW_MM, thicknessByHeight } from '../thickness.js';
import type { View } from '../view.js';
import type { WeightLine } from '../weight-line.js';
import type { Loop } from './contour.js';
import { uncoveredEar } from './figure-svg.js';
import { locksPath } from './locks.js';
import { PAINT } from './palette.js';
import { resampleLoop, smoothLoopPath } from './path.js';
import { weightMark } from './weight-mark.js';

export interface SceneOptions {
  readonly id: string;
  /** Markup of the head under the hair and of the line of another date. */
  readonly figure: string;
  readonly ghost: string;
  readonly weightLine?: WeightLine | undefined;
  /** True for small drawings: coarser lines, fewer locks. */
  readonly coarse?: boolean;
}

/** Width and height of a drawing in mm, and how much of the height lies above the middle of the cranium. */
export interface Frame {
  readonly wideMm: number;
  readonly topMm: number;
  readonly highMm: number;
}

const PROFILE_WIDE_MM = 274;
const WIDE_MM = 250;
const ABOVE_MM = 136;
const BELOW_MM = 184;
const COARSE_MM = 11;
/** What the far side reaches beyond the near one in an even cut, by the roughness of the outline. */
const ROOM_MM = 4;
/** Lengths under which the skin is seen through the hair, once more for each. Ours, for the eye. */
const SHINE_THROUGH_MM = [16, 10, 5];

/** The part of the plane a drawing shows; the same for every date of a head unless the hair reaches below the collar. */
export function frameOf({ shape, thickness }: Silhouette, view: View): Frame {
  const { scale } = shape.head;
  const wide = view === 'right' || view === 'left' ? PROFILE_WIDE_MM : WIDE_MM;
  const topMm = Math.round(ABOVE_MM * scale);
  const hairMm = ROW_MM * thickness.rows - thickness.topMm;
  return {
    wideMm: 2 * Math.round((wide * scale) / 2),
    topMm,
    highMm: Math.round(topMm + Math.max(BELOW_MM * scale, hairMm + 8)),
  };
}

/** The hair with the figure under it: definitions and layers, farthest first. */
export function sceneOf(silhouette: Silhouette, view: View, options: SceneOptions): string {
  const { id, figure, ghost, weightLine, coarse = false } = options;
  const outline = outlineFrom(silhouette, view);
  const near = pathOf(outline.near, coarse);
  const far = hidesFar(outline) ? '' : pathOf(outline.far, coarse);
  const locks = locksPath(silhouette, view, coarse);
  return [
    `<defs>${farFade(id, silhouette.shape.head.scale)}${weightShade(silhouette, id, coarse ? 6 : 3)}<path id="${id}-n" d="${near || 'M0 0'}" fill-rule="evenodd" clip-rule="evenodd"/>`,
    `<clipPath id="${id}-h"><use href="#${id}-n"/></clipPath></defs>`,
    far && `<path d="${far}" fill="url(#${id}-r)" fill-rule="evenodd"/>`,
    figure,
    `<use href="#${id}-n" fill="${PAINT.hair}"/><use href="#${id}-n" fill="url(#${id}-w)"/>`,
    skinThrough(silhouette, view, id, coarse),
    locks &&
      `<path d="${locks}" clip-path="url(#${id}-h)" fill="none" stroke="${PAINT.lock}" stroke-opacity=".38" ` +
        `stroke-width="${coarse ? 1.2 : 0.9}" stroke-linecap="round"/>`,
    uncoveredEar(silhouette, view, id),
    weightLine?.lineZMm == null ? '' : weightMark(outline, weightLine.lineZMm),
    ghost,
  ].join('');
}

/** The outline of another date as a broken line. */
export function ghostLine(outline: Outline, coarse = false): string {
  return (
    `<path d="${pathOf(outline.near, coarse)}" fill="none" stroke="${PAINT.ghost}" stroke-width="1.1" ` +
    `stroke-dasharray="1 3.2" stroke-linecap="round"/>`
  );
}

function pathOf(loops: readonly Loop[], coarse: boolean): string {
  return loops
    .map((loop) => (coarse ? smoothLoopPath(resampleLoop(loop, COARSE_MM), 1) : smoothLoopPath(loop)))
    .join('');
}

/** In profile the far side of an even cut lies behind the near one. */
function hidesFar({ view, near, far }: Outline): boolean {
  if (view === 'back' || view === 'front') return false;
  const inner = boxOf(far);
  return boxOf(near).every((reach, i) => reach + ROOM_MM >= inner[i]!);
}

/** How far loops reach to the left, right, down and up. */
function boxOf(loops: readonly Loop[]): number[] {
  const box = [-Infinity, -Infinity, -Infinity, -Infinity];
  for (const loop of loops) {
    for (let i = 0; i < loop.length; i += 2) {
      const u = loop[i]!;
      const v = loop[i + 1]!;
      [-u, u, -v, v].forEach((reach, side) => {
        box[side] = Math.max(box[side]!, reach);
      });
    }
  }
  return box;
}

/** Hair on the far side goes out of sight behind the shoulders. */
function farFade(id: string, scale: number): string {
  return (
    `<linearGradient id="${id}-r" gradientUnits="userSpaceOnUse" x1="0" x2="0" y1="${(112 * scale).toFixed(0)}" ` +
    `y2="${(142 * scale).toFixed(0)}"><stop offset="0" stop-color="${PAINT.far}"/><stop offset="1" ` +
    `stop-color="${PAINT.far}" stop-opacity="0"/></linearGradient>`
  );
}

/** Darker where the layer of hair is thicker, by height. */
function weightShade(silhouette: Silhouette, id: string, everyRow: number): string {
  const rows = thicknessByHeight(silhouette.thickness).filter(({ thicknessMm }) => thicknessMm > 0);
  const topMm = rows[0]?.zMm ?? 0;
  const bottomMm = rows[rows.length - 1]?.zMm ?? 0;
  const span = Math.max(1, topMm - bottomMm);
  const stops = rows
    .filter((_, i) => i % everyRow === 0 || i === rows.length - 1)
    .map(({ zMm, thicknessMm }) => {
      const opacity = Math.min(0.75, (thicknessMm / 24) ** 1.4).toFixed(2);
      return `<stop offset="${((topMm - zMm) / span).toFixed(2)}" stop-color="${PAINT.deep}" stop-opacity="${opacity}"/>`;
    });
  return (
    `<linearGradient id="${id}-w" gradientUnits="userSpaceOnUse" x1="0" x2="0" y1="${(-topMm).toFixed(0)}" ` +
    `y2="${(-bottomMm).toFixed(0)}">${stops.join('')}</linearGradient>`
  );
}

/** Where the hair is clipped short it is drawn thinner, with a soft edge. */
function skinThrough(silhouette: Silhouette, view: View, id: string, coarse: boolean): string {
  const patches = SHINE_THROUGH_MM.filter((_, i) => !coarse || i !== 1)
    .map((underMm) => shortPatches(silhouette, view, underMm))
    .filter((loops) => loops.length > 0)
    .map((loops) => `<path d="${pathOf(loops, true)}"/>`);
  if (patches.length === 0) return '';
  return (
    `<filter id="${id}-b"><feGaussianBlur stdDeviation="3"/></filter><g clip-path="url(#${id}-h)">` +
    `<g filter="url(#${id}-b)" fill="${PAINT.skin}" fill-opacity=".26" fill-rule="evenodd">${patches.join('')}</g></g>`
  );
}
