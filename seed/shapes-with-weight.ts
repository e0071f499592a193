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
  stationary,
  travelling,
  weightLineDrops,
} from './shape-terms.js';

/** Shapes that carry a line of weight. */

export const ONE_LENGTH: Shape = {
  name: 'One length',
  notes: 'All hair to one line at the jaw, head upright. Nothing lifted: any elevation softens the line.',
  steps: [
    natural('nape', 50, 'jaw line', { notes: 'Head upright; comb, do not pull: the nape springs up.' }),
    natural('back', 115, 'jaw line'),
    ...SIDES.map((side) =>
      natural(side, 130, 'jaw line', { notes: 'Let the ear push out what it pushes out.' }),
    ),
    natural('crown', 195, 'jaw line'),
    natural('top', 240, 'jaw line'),
    natural('fringe', 200, 'jaw line', { notes: 'Worn to the sides, no fringe cut in.' }),
  ],
  lengths: lengths({ fringe: 200, top: 240, crown: 195, sides: 130, back: 115, nape: 50 }),
  links: [blended('nape', 'back'), blended('back', 'left-side'), blended('back', 'right-side')],
  limits: [grownBy('back', 24), ...SIDES.map((side) => grownBy(side, 22))],
};

export const GRADUATED_BOB: Shape = {
  name: 'Graduated bob',
  notes: 'Low graduation: weight just below the occipital bone, longer towards the face.',
  steps: [
    natural('nape', 30, 'nape hairline', { notes: 'First section as the base line.' }),
    travelling('nape', 'diagonal-forward', 45, 30),
    travelling('back', 'diagonal-forward', 45, 42, { notes: 'Keep 45 up to the occipital bone.' }),
    ...SIDES.map((side) =>
      travelling(side, 'diagonal-forward', 20, 80, {
        overDirectedTo: 'back',
        overDirectedSections: 1,
        notes: 'Over-directed back: keeps the length at the face.',
      }),
    ),
    stationary('crown', 'diagonal-forward', 45, 70, 'weight line at the occipital bone', {
      notes: 'Brought down to the weight line, not above it.',
    }),
    stationary('top', 'horizontal', 20, 105, 'weight line at the side'),
    natural('fringe', 110, 'cheekbone', { technique: 'point' }),
  ],
  lengths: lengths({ fringe: 110, top: 150, crown: 130, sides: 105, back: 70, nape: 30 }),
  links: [
    blended('nape', 'back'),
    blended('back', 'left-side'),
    blended('back', 'right-side'),
    blended('back', 'crown'),
  ],
  limits: [weightLineDrops('back', 15), grownBy('nape', 16), ...SIDES.map((side) => grownBy(side, 20))],
};

export const STACKED_WEDGE: Shape = {
  name: 'Stacked wedge',
  notes:
    'High graduation: the stack ends in a weight line at the occipital bone. Hold it high or the weight slides down.',
  steps: [
    travelling('nape', 'horizontal', 75, 18, { sectionDepthMm: 8, technique: 'club' }),
    travelling('back', 'horizontal', 75, 28, {
      sectionDepthMm: 8,
      notes: 'Same angle up to the occipital bone; check from the side in the mirror.',
    }),
    stationary('crown', 'diagonal-back', 60, 45, 'weight line at the occipital bone'),
    ...SIDES.map((side) => travelling(side, 'diagonal-forward', 45, 60, { notes: 'Opens over the ear.' })),
    stationary('top', 'horizontal', 45, 75, 'weight line at the side'),
    travelling('fringe', 'diagonal-forward', 20, 75, { technique: 'point' }),
  ],
  lengths: lengths({ fringe: 75, top: 110, crown: 90, sides: 75, back: 40, nape: 18 }),
  links: [
    blended('nape', 'back'),
    blended('back', 'left-side'),
    blended('back', 'right-side'),
    blended('back', 'crown'),
  ],
  limits: [weightLineDrops('back', 13), longerThan('nape', 33), ...SIDES.map((side) => grownBy(side, 17))],
};

export const WEDGE_PIXIE: Shape = {
  name: 'Wedge pixie with nape undercut',
  notes: 'Clipped nape under a short stack; the weight sits above the undercut, on the occipital bone.',
  steps: [
    clipped('nape', 6, 'guard 2', { notes: 'Up to the mastoid level only; leave the edge hard.' }),
    travelling('back', 'horizontal', 80, 26, {
      sectionDepthMm: 8,
      notes: 'First section falls over the undercut.',
    }),
    stationary('crown', 'diagonal-back', 75, 40, 'weight line at the occipital bone', { technique: 'point' }),
    ...SIDES.map((side) => travelling(side, 'diagonal-back', 60, 32, { technique: 'point' })),
    travelling('top', 'vertical', 90, 70, { technique: 'point' }),
    travelling('fringe', 'diagonal-forward', 45, 70, { technique: 'slice' }),
  ],
  lengths: lengths({ fringe: 70, top: 70, crown: 60, sides: 40, back: 35, nape: 6 }, ['nape']),
  links: [
    apart('nape', 'back'),
    blended('back', 'left-side'),
    blended('back', 'right-side'),
    blended('crown', 'top'),
  ],
  limits: [longerThan('nape', 18), weightLineDrops('back', 13), ...SIDES.map((side) => grownBy(side, 15))],
};

/** Not of the house's eight: what one of the demo's clients made of the stacked wedge. */
export const UNDERCUT_BOB: Shape = {
  ...STACKED_WEDGE,
  name: 'Stacked bob, nape undercut',
  basedOn: STACKED_WEDGE.name,
  notes:
    'The stacked wedge with the nape clipped out underneath: her nape grows up and lifts the stack otherwise.',
  steps: [
    clipped('nape', 6, 'guard 2', { notes: 'To a finger above the hairline whorl; hard edge.' }),
    ...STACKED_WEDGE.steps.filter(({ zone }) => zone !== 'nape'),
  ],
  lengths: lengths({ fringe: 95, top: 120, crown: 95, sides: 90, back: 42, nape: 6 }, ['nape']),
  links: [apart('nape', 'back'), ...STACKED_WEDGE.links.filter(({ zone }) => zone !== 'nape')],
  limits: [longerThan('nape', 19), weightLineDrops('back', 14), ...SIDES.map((side) => grownBy(side, 18))],
};
