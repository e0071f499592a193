import { ZONES, type Zone } from '../src/engine/zones.js';
import { grownBy, type LengthText, type Shape } from './shape-terms.js';
import { CLIPPED_SIDES, LAYERED_PIXIE, LONG_BACKED_CROP, SQUARE_CROP } from './shapes-in-layers.js';
import { GRADUATED_BOB, ONE_LENGTH, STACKED_WEDGE, WEDGE_PIXIE } from './shapes-with-weight.js';

/** The house's own shapes and how many clients wear them. */
export const HOUSE_SHAPES: readonly (readonly [shape: Shape, share: number])[] = [
  [ONE_LENGTH, 9],
  [GRADUATED_BOB, 15],
  [STACKED_WEDGE, 14],
  [LONG_BACKED_CROP, 10],
  [LAYERED_PIXIE, 18],
  [WEDGE_PIXIE, 12],
  [SQUARE_CROP, 10],
  [CLIPPED_SIDES, 12],
];

/** What a shape can be cut to after some weeks: no zone longer than it is by then. Hair can be taken off, never put back. */
export const SHORTER: ReadonlyMap<Shape, Shape> = new Map([
  [ONE_LENGTH, GRADUATED_BOB],
  [GRADUATED_BOB, STACKED_WEDGE],
  [STACKED_WEDGE, WEDGE_PIXIE],
  [LONG_BACKED_CROP, LAYERED_PIXIE],
  [LAYERED_PIXIE, SQUARE_CROP],
]);

/** A zone's length in the record and what the shape wants of it. */
export type WantedLength = LengthText & { readonly wantedMm: number; readonly grows: boolean };

/** What a shape wants of every zone. */
export function wanted(shape: Shape): WantedLength[] {
  const growing = new Set(shape.steps.filter(({ leftToGrow }) => leftToGrow).map(({ zone }) => zone));
  return ZONES.flatMap((zone) => {
    const length = shape.lengths.find((candidate) => candidate.zone === zone);
    return length ? [{ ...length, wantedMm: length.leftMm, grows: growing.has(zone) }] : [];
  });
}

/** A shape on its way to a longer one: the nape keeps its outline, all else is left to grow. */
export function growingOut(from: Shape, to: Shape): Shape {
  const kept: Zone = 'nape';
  return {
    name: `${from.name}, growing out to ${to.name.toLowerCase()}`,
    notes: `Nothing off but the outline of the nape until there is enough for ${to.name.toLowerCase()}.`,
    steps: from.steps.map((step) =>
      step.zone === kept ? step : { ...step, leftToGrow: true, notes: 'Left to grow; dust split ends only.' },
    ),
    lengths: to.lengths.map(
      (length) => from.lengths.find(({ zone }) => zone === kept && zone === length.zone) ?? length,
    ),
    links: from.links,
    limits: [grownBy(kept, 15)],
  };
}
