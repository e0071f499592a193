import type { Outline, Silhouette } from '../outline.js';
import type { View } from '../view.js';
import type { WeightLine } from '../weight-line.js';
import { fades, figureGroup } from './figure-svg.js';
import { SHAPE_CSS } from './palette.js';
import { frameOf, ghostLine, sceneOf } from './scene.js';
import { checkedId, escapeXml } from './xml.js';

export interface DrawingOptions {
  /** Prefix of all ids in the drawing: a letter, then letters, digits, "-" or "_". Two on one page need two. */
  readonly id: string;
  /** What is drawn, in words, for those who hear it: "Right profile, as cut". */
  readonly title: string;
  /** What can be seen in it, in words: see shapeInWords. */
  readonly description: string;
  /** The outline of another date, drawn as a broken line; from the same side. */
  readonly ghost?: Outline | undefined;
  readonly weightLine?: WeightLine | undefined;
  /** True for a file of its own: colours for light and dark go into it. Inside a page the page sets them. */
  readonly standalone?: boolean;
}

/** The drawing as an SVG document of at most 25 KB. @throws EngineError OUT_OF_RANGE for an unusable id */
export function drawShape(silhouette: Silhouette, view: View, options: DrawingOptions): string {
  const id = checkedId(options.id);
  const { wideMm, topMm, highMm } = frameOf(silhouette, view);
  const scene = sceneOf(silhouette, view, {
    id,
    figure: figureGroup(silhouette, view, id),
    ghost: options.ghost ? ghostLine(options.ghost) : '',
    weightLine: options.weightLine,
  });
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="${-wideMm / 2} ${-topMm} ${wideMm} ${highMm}" role="img" ` +
    `aria-labelledby="${id}-t ${id}-d"><title id="${id}-t">${escapeXml(options.title)}</title>` +
    `<desc id="${id}-d">${escapeXml(options.description)}</desc>` +
    `${options.standalone ? `<style>${SHAPE_CSS}</style>` : ''}<defs>${fades(id)}</defs>${scene}</svg>`
  );
}
