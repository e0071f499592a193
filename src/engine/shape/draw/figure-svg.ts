import type { Silhouette } from '../outline.js';
import type { View } from '../view.js';
import { earEdge } from './ear.js';
import { BACK_FIGURE, type Figure, FRONT_FIGURE, PROFILE_FIGURE } from './figure.js';
import { PAINT } from './palette.js';
import { point } from './path.js';

const FIGURES: Readonly<Record<View, Figure>> = {
  right: PROFILE_FIGURE,
  left: PROFILE_FIGURE,
  back: BACK_FIGURE,
  front: FRONT_FIGURE,
};
const STROKE = 1.1;

/** Gradients that let neck and shoulders run out downwards: skin and line. */
export function fades(id: string): string {
  const fade = (name: string, paint: string) =>
    `<linearGradient id="${id}-${name}" gradientUnits="userSpaceOnUse" x1="0" y1="138" x2="0" y2="180">` +
    `<stop offset="0" stop-color="${paint}"/><stop offset="1" stop-color="${paint}" stop-opacity="0"/></linearGradient>`;
  return fade('s', PAINT.skin) + fade('l', PAINT.line);
}

/** Head, face and neck; `id` is that of the fades. */
export function figureGroup(silhouette: Silhouette, view: View, id: string): string {
  const { skin, lines, ears } = FIGURES[view];
  const head = `${skin.map((d) => `<path d="${d}"/>`).join('')}<path d="${lines.join('')}" fill="none"/>`;
  const both = ears.map(ear).join('');
  return (
    `<g${placing(silhouette, view)} stroke-linecap="round" stroke-linejoin="round" fill="url(#${id}-s)" ` +
    `stroke="url(#${id}-l)" stroke-width="${STROKE}">${isProfile(view) ? head + both : both + head}</g>`
  );
}

/** The part of the ear that hair leaves free, to lie over the hair that grows behind it; in profile only. */
export function uncoveredEar(silhouette: Silhouette, view: View, id: string): string {
  const edge = isProfile(view) ? earEdge(silhouette, view) : null;
  if (!edge) return '';
  const low = -120 * silhouette.shape.head.scale;
  let clip = `M${point(edge[0]! - 20, low)}`;
  for (let i = 0; i < edge.length; i += 2) clip += `L${point(edge[i]!, edge[i + 1]!)}`;
  clip += `L${point(edge[edge.length - 2]! + 20, low)}Z`;
  return (
    `<clipPath id="${id}-e"><path d="${clip}"/></clipPath><g clip-path="url(#${id}-e)"><g${placing(silhouette, view)} ` +
    `fill="${PAINT.skin}" stroke="${PAINT.line}" stroke-width="${STROKE}">${FIGURES[view].ears.map(ear).join('')}</g></g>`
  );
}

function isProfile(view: View): boolean {
  return view === 'right' || view === 'left';
}

/** The figure is drawn for the mean head looking right; here it is scaled and, for the left profile, turned round. */
function placing(silhouette: Silhouette, view: View): string {
  const { scale } = silhouette.shape.head;
  const mirror = view === 'left' ? -1 : 1;
  return scale === 1 && mirror === 1
    ? ''
    : ` transform="scale(${+(mirror * scale).toFixed(4)} ${+scale.toFixed(4)})"`;
}

function ear({ outline, inner }: Figure['ears'][number]): string {
  return `<path d="${outline}"/><path d="${inner}" fill="none" stroke-width=".9"/>`;
}
