import {
  apart,
  blended,
  clipped,
  grownBy,
  lengths,
  longerThan,
  natural,
  reaches,
  type Shape,
  SIDES,
  square,
  squareSide,
  stationary,
  timesAsLong,
  travelling,
} from './shape-terms.js';

/** Shapes without a line of weight. */

export const LONG_BACKED_CROP: Shape = {
  name: 'Long-backed layered crop',
  notes: 'Short in front and over the ears, length kept at the nape. The contrast is the shape.',
  steps: [
    travelling('top', 'vertical', 90, 75, { technique: 'point' }),
    travelling('crown', 'radial', 90, 80, { technique: 'point' }),
    ...SIDES.map((side) =>
      travelling(side, 'vertical', 90, 45, {
        technique: 'point',
        notes: 'Stop behind the ear: the back stays long.',
      }),
    ),
    stationary('back', 'vertical', 90, 60, 'occipital', {
      technique: 'point',
      notes: 'Brought to the guide over the occipital bone: each section away from it comes out longer.',
    }),
    stationary('nape', 'vertical', 135, 60, 'occipital', { technique: 'slice' }),
    natural('fringe', 60, 'brow', 0, { technique: 'point' }),
  ],
  lengths: lengths({ fringe: 60, top: 75, crown: 80, sides: 45, back: 60, nape: 70 }),
  links: [
    apart('left-side', 'back'),
    apart('right-side', 'back'),
    blended('top', 'crown'),
    blended('back', 'nape'),
  ],
  limits: [
    reaches('fringe', 'upper-lid'),
    ...SIDES.map((side) => grownBy(side, 17)),
    timesAsLong('left-side', 'nape', 1.35),
  ],
};

export const LAYERED_PIXIE: Shape = {
  name: 'Layered pixie',
  notes: 'Even layers on top, closer at the nape and around the ears, soft edges.',
  steps: [
    travelling('nape', 'vertical', 75, 18, { technique: 'point', notes: 'Leave the outline soft.' }),
    travelling('back', 'vertical', 90, 30, { technique: 'point' }),
    ...SIDES.map((side) =>
      travelling(side, 'vertical', 90, 35, { technique: 'point', notes: 'Clear of the ear.' }),
    ),
    travelling('crown', 'radial', 90, 55, { technique: 'point', notes: 'Leave 5 mm more over the whorl.' }),
    travelling('top', 'vertical', 90, 60, { technique: 'point' }),
    natural('fringe', 54, 'brow', -4, { technique: 'slice' }),
  ],
  lengths: lengths({ fringe: 54, top: 60, crown: 55, sides: 35, back: 30, nape: 18 }),
  links: [
    blended('nape', 'back'),
    blended('back', 'crown'),
    blended('crown', 'top'),
    blended('top', 'fringe'),
  ],
  limits: [
    grownBy('nape', 14),
    ...SIDES.map((side) => grownBy(side, 15)),
    reaches('fringe', 'lid-crease'),
    grownBy('top', 24),
  ],
};

export const SQUARE_CROP: Shape = {
  name: 'Square-layered crop',
  notes:
    'Top lifted to a level line so that the corners stay over the parietal ridge; round it off and the shape is gone.',
  steps: [
    travelling('nape', 'vertical', 75, 12, { technique: 'scissor-over-comb', tool: 'fine comb' }),
    travelling('back', 'vertical', 90, 20, { technique: 'scissor-over-comb', tool: 'wide comb' }),
    ...SIDES.map((side) => squareSide(side, 28, { notes: 'Flat to the plane, not round the head.' })),
    square('top', 30, { notes: 'Do not follow the head: the corner is left on.' }),
    square('crown', 30, { notes: 'Same level, carried back.' }),
    square('fringe', 30, { notes: 'Same level, carried forward.' }),
  ],
  lengths: lengths({ fringe: 41, top: 30, crown: 34, sides: 24, back: 20, nape: 12 }),
  links: [
    blended('nape', 'back'),
    ...SIDES.flatMap((side) => [apart(side, 'top'), apart(side, 'crown'), apart(side, 'fringe')]),
    apart('back', 'crown'),
    apart('back', 'top'),
    ...SIDES.map((side) => apart('back', side)),
    blended('top', 'crown'),
  ],
  limits: [grownBy('nape', 12), ...SIDES.map((side) => grownBy(side, 13)), grownBy('top', 18)],
};

export const CLIPPED_SIDES: Shape = {
  name: 'Clipped back and sides',
  notes: 'Clipped to below the parietal ridge, top left long enough to part.',
  steps: [
    clipped('nape', 6, 'guard 2', { notes: 'Natural nape line, edge softened with the half guard.' }),
    clipped('back', 13, 'guard 4'),
    ...SIDES.map((side) => clipped(side, 10, 'guard 3', { notes: 'Stop a finger below the ridge.' })),
    travelling('crown', 'radial', 90, 38, { technique: 'scissor-over-comb', tool: 'wide comb' }),
    travelling('top', 'horizontal', 90, 42, { technique: 'point' }),
    travelling('fringe', 'horizontal', 90, 45, { technique: 'point' }),
  ],
  lengths: lengths({ fringe: 45, top: 42, crown: 38, sides: 10, back: 13, nape: 6 }, [
    'nape',
    'back',
    ...SIDES,
  ]),
  links: [
    blended('nape', 'back'),
    apart('left-side', 'top'),
    apart('right-side', 'top'),
    blended('back', 'crown'),
  ],
  limits: [
    longerThan('nape', 17),
    ...SIDES.map((side) => longerThan(side, 22)),
    timesAsLong('left-side', 'top', 2.2),
    grownBy('top', 20),
  ],
};
