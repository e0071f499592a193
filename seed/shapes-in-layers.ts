import {
  apart,
  blended,
  clipped,
  grownBy,
  lengths,
  longerThan,
  natural,
  type Shape,
  SIDES,
  square,
  stationary,
  taper,
  timesAsLong,
  travelling,
} from './shape-terms.js';

/** Shapes without a line of weight. */

export const LONG_BACKED_CROP: Shape = {
  name: 'Long-backed layered crop',
  notes: 'Short in front and over the ears, length kept at the nape. The contrast is the shape.',
  steps: [
    travelling('top', 'vertical', 90, 75, { technique: 'point' }),
    travelling('crown', 'radial', 90, 85, { technique: 'point' }),
    ...SIDES.map((side) =>
      travelling(side, 'vertical', 90, 45, {
        technique: 'point',
        notes: 'Stop behind the ear: the back stays long.',
      }),
    ),
    stationary('back', 'vertical', 90, 85, 'crown', {
      overDirectedTo: 'crown',
      technique: 'point',
      notes: 'Brought up to the crown: each section below comes out longer.',
    }),
    stationary('nape', 'vertical', 135, 85, 'crown', { overDirectedTo: 'crown', technique: 'slice' }),
    natural('fringe', 65, 'brow', { technique: 'point' }),
  ],
  lengths: lengths({ fringe: 65, top: 75, crown: 85, sides: 45, back: 105, nape: 130 }),
  links: [
    apart('left-side', 'back'),
    apart('right-side', 'back'),
    blended('top', 'crown'),
    blended('back', 'nape'),
  ],
  limits: [
    grownBy('fringe', 16),
    ...SIDES.map((side) => grownBy(side, 17)),
    timesAsLong('left-side', 'nape', 2.2),
  ],
};

export const LAYERED_PIXIE: Shape = {
  name: 'Layered pixie',
  notes: 'Even layers on top, closer at the nape and around the ears, soft edges.',
  steps: [
    natural('nape', 18, 'nape hairline', { technique: 'point', notes: 'Leave the outline soft.' }),
    travelling('nape', 'vertical', 75, 18, { technique: 'point' }),
    travelling('back', 'vertical', 90, 30, { technique: 'point' }),
    ...SIDES.map((side) =>
      travelling(side, 'vertical', 90, 35, { technique: 'point', notes: 'Clear of the ear.' }),
    ),
    travelling('crown', 'radial', 90, 55, { technique: 'point', notes: 'Leave 5 mm more over the whorl.' }),
    travelling('top', 'vertical', 90, 60, { technique: 'point' }),
    travelling('fringe', 'diagonal-forward', 45, 60, { technique: 'slice' }),
  ],
  lengths: lengths({ fringe: 60, top: 60, crown: 55, sides: 35, back: 32, nape: 18 }),
  links: [
    blended('nape', 'back'),
    blended('back', 'crown'),
    blended('crown', 'top'),
    blended('top', 'fringe'),
  ],
  limits: [
    grownBy('nape', 14),
    ...SIDES.map((side) => grownBy(side, 15)),
    grownBy('fringe', 16),
    grownBy('top', 24),
  ],
};

export const SQUARE_CROP: Shape = {
  name: 'Square-layered crop',
  notes:
    'Top lifted to a level line so that the corners stay over the parietal ridge; round it off and the shape is gone.',
  steps: [
    travelling('nape', 'vertical', 45, 12, { technique: 'scissor-over-comb', tool: 'fine comb' }),
    travelling('back', 'vertical', 60, 22, { technique: 'scissor-over-comb', tool: 'wide comb' }),
    ...SIDES.map((side) =>
      travelling(side, 'vertical', 60, 22, { technique: 'scissor-over-comb', tool: 'wide comb' }),
    ),
    square('top', 45, 'level above the apex', { notes: 'Do not follow the head: the corner is left on.' }),
    square('crown', 45, 'level above the apex', { notes: 'Same level, carried back.' }),
    travelling('fringe', 'horizontal', 45, 55, { technique: 'point' }),
  ],
  lengths: lengths({ fringe: 55, top: 55, crown: 50, sides: 22, back: 22, nape: 12 }),
  links: [
    blended('nape', 'back'),
    apart('left-side', 'top'),
    apart('right-side', 'top'),
    blended('top', 'crown'),
  ],
  limits: [
    grownBy('nape', 12),
    ...SIDES.map((side) => grownBy(side, 13)),
    timesAsLong('left-side', 'top', 1.9),
  ],
};

export const CLIPPED_SIDES: Shape = {
  name: 'Clipped back and sides',
  notes: 'Clipped to below the parietal ridge, top left long enough to part.',
  steps: [
    taper('nape', 6, 1.5, 'guard 2 to half guard', { notes: 'Natural nape line; no hard edge.' }),
    clipped('back', 13, 'guard 4'),
    ...SIDES.map((side) => clipped(side, 10, 'guard 3', { notes: 'Stop a finger below the ridge.' })),
    travelling('crown', 'radial', 90, 38, { technique: 'scissor-over-comb', tool: 'wide comb' }),
    square('top', 45, 'level above the apex'),
    travelling('fringe', 'horizontal', 45, 48, { technique: 'point' }),
  ],
  lengths: lengths({ fringe: 48, top: 50, crown: 38, sides: 10, back: 13, nape: 6 }, [
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
    timesAsLong('left-side', 'top', 2.4),
    grownBy('top', 20),
  ],
};
