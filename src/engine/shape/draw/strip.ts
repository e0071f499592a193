import { EngineError } from '../../errors.js';
import { outlineFrom, type Silhouette } from '../outline.js';
import type { View } from '../view.js';
import { fades, figureGroup } from './figure-svg.js';
import { PAINT, SHAPE_CSS } from './palette.js';
import { frameOf, ghostLine, sceneOf } from './scene.js';
import { checkedId, escapeXml } from './xml.js';

export interface StripFrame {
  readonly silhouette: Silhouette;
  /** What stands under it: "Today", "3 weeks". */
  readonly label: string;
}

export interface StripOptions {
  readonly id: string;
  readonly title: string;
  readonly description: string;
  readonly standalone?: boolean;
}

const MOST_FRAMES = 4;
const LABEL_MM = 34;

/**
 * The same head on several dates side by side, the first one repeated over the others as a broken line. At most 25 KB.
 *
 * @throws EngineError OUT_OF_RANGE for fewer than two frames, more than four, or an unusable id
 */
export function drawStrip(frames: readonly StripFrame[], view: View, options: StripOptions): string {
  const [first] = frames;
  if (!first || frames.length < 2 || frames.length > MOST_FRAMES) {
    throw new EngineError('ENGINE.OUT_OF_RANGE', 'frames', `A strip has two to ${MOST_FRAMES} drawings.`);
  }
  const id = checkedId(options.id);
  const boxes = frames.map(({ silhouette }) => frameOf(silhouette, view));
  const { wideMm, topMm } = boxes[0]!;
  const highMm = Math.max(...boxes.map((box) => box.highMm));
  const panels = frames.map(({ silhouette, label }, i) => {
    const scene = sceneOf(silhouette, view, {
      id: `${id}${i}`,
      figure: `<use href="#${id}-f"/>`,
      ghost: i > 0 ? `<use href="#${id}-g"/>` : '',
      coarse: true,
    });
    return (
      `<g transform="translate(${wideMm * i} 0)">${scene}<text y="${highMm - topMm + 20}" text-anchor="middle" ` +
      `font-family="system-ui,sans-serif" font-size="20" fill="${PAINT.ink}">${escapeXml(label)}</text></g>`
    );
  });
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="${-wideMm / 2} ${-topMm} ${wideMm * frames.length} ` +
    `${highMm + LABEL_MM}" role="img" aria-labelledby="${id}-t ${id}-d"><title id="${id}-t">${escapeXml(options.title)}` +
    `</title><desc id="${id}-d">${escapeXml(options.description)}</desc>` +
    `${options.standalone ? `<style>${SHAPE_CSS}</style>` : ''}<defs>${fades(id)}<g id="${id}-f">` +
    `${figureGroup(first.silhouette, view, id)}</g><g id="${id}-g">${ghostLine(outlineFrom(first.silhouette, view), true)}` +
    `</g></defs>${panels.join('')}</svg>`
  );
}
