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
  travelling,
  weightLineDrops,
} from './shape-terms.js';

/** Shapes that carry a line of weight. Heights in mm under the landmark they are steered by. */

/** The jaw's height, under the nape hairline. */
const JAW_MM = 20;

export const ONE_LENGTH: Shape = {
  name: 'One length',
  notes: 'All hair to one line at the jaw, head upright. Nothing lifted: any elevation softens the line.',
  steps: [
    natural('nape', 32, 'nape', JAW_MM, { notes: 'Head upright; comb, do not pull: the nape springs up.' }),
    natural('back', 83, 'nape', JAW_MM),
    ...SIDES.map((side) =>
      natural(side, 108, 'nape', JAW_MM, { notes: 'Let the ear push out what it pushes out.' }),
    ),
    natural('crown', 190, 'nape', JAW_MM),
    natural('top', 187, 'nape', JAW_MM),
    natural('fringe', 177, 'nape', JAW_MM, { notes: 'Worn with the rest, no fringe cut in.' }),
  ],
  lengths: lengths({ fringe: 177, top: 187, crown: 190, sides: 108, back: 83, nape: 32 }),
  links: [blended('nape', 'back'), blended('back', 'left-side'), blended('back', 'right-side')],
  limits: [reaches('back', 'collar', 3), ...SIDES.map((side) => grownBy(side, 24))],
};

/** Below the occipital bone, where the stack of each shape ends. */
const LOW_LINE_MM = 28;

export const GRADUATED_BOB: Shape = {
  name: 'Graduated bob',
  notes: 'Graduation of 45 degrees: the weight lies low, under the occipital bone; longer towards the face.',
  steps: [
    travelling('nape', 'diagonal-forward', 45, 12, { notes: 'First section as the base line.' }),
    travelling('back', 'diagonal-forward', 45, 40, {
      geometry: { guideZone: 'nape' },
      notes: 'Guide travels up from the nape; keep 45 up to the weight line.',
    }),
    natural('crown', 113, 'occipital', LOW_LINE_MM, {
      notes: 'Brought down to the weight line, not above it.',
    }),
    ...SIDES.map((side) =>
      travelling(side, 'diagonal-forward', 20, 55, {
        overDirectedTo: 'back',
        overDirectedSections: 1,
        notes: 'Over-directed back: keeps the length at the face.',
      }),
    ),
    natural('top', 135, 'occipital', LOW_LINE_MM + 35),
    natural('fringe', 112, 'occipital', 40, {
      technique: 'point',
      notes: 'To the corner of the mouth.',
    }),
  ],
  lengths: lengths({ fringe: 112, top: 135, crown: 113, sides: 95, back: 61, nape: 38 }),
  links: [
    blended('nape', 'back'),
    blended('back', 'left-side'),
    blended('back', 'right-side'),
    apart('back', 'crown'),
  ],
  limits: [weightLineDrops('back', 15), grownBy('nape', 16), ...SIDES.map((side) => grownBy(side, 20))],
};

const HIGH_LINE_MM = 2;

export const STACKED_WEDGE: Shape = {
  name: 'Stacked wedge',
  notes:
    'High graduation: the stack ends in a weight line at the occipital bone. Hold it high or the weight slides down.',
  steps: [
    travelling('nape', 'horizontal', 70, 12, { sectionDepthMm: 8 }),
    travelling('back', 'horizontal', 70, 26, {
      sectionDepthMm: 8,
      geometry: { guideZone: 'nape' },
      notes: 'Same angle up to the occipital bone; check from the side in the mirror.',
    }),
    natural('crown', 87, 'occipital', HIGH_LINE_MM, {
      notes: 'Falls on the stack: this is the weight line.',
    }),
    ...SIDES.map((side) => travelling(side, 'diagonal-forward', 45, 40, { notes: 'Opens over the ear.' })),
    natural('top', 92, 'occipital', HIGH_LINE_MM + 35),
    natural('fringe', 89, 'brow', 25, { technique: 'point', notes: 'To the cheekbone, worn to the side.' }),
  ],
  lengths: lengths({ fringe: 89, top: 92, crown: 87, sides: 66, back: 26, nape: 12 }),
  links: [
    blended('nape', 'back'),
    blended('back', 'left-side'),
    blended('back', 'right-side'),
    apart('back', 'crown'),
  ],
  limits: [weightLineDrops('back', 13), longerThan('nape', 27), ...SIDES.map((side) => grownBy(side, 17))],
};

export const WEDGE_PIXIE: Shape = {
  name: 'Wedge pixie with nape undercut',
  notes: 'Clipped nape under a short stack; the weight sits above the undercut, at the occipital bone.',
  steps: [
    clipped('nape', 6, 'guard 2', { notes: 'Up to the mastoid level only; leave the edge hard.' }),
    travelling('back', 'horizontal', 65, 22, {
      sectionDepthMm: 8,
      notes: 'First section falls over the undercut.',
    }),
    natural('crown', 65, 'occipital', HIGH_LINE_MM),
    ...SIDES.map((side) => travelling(side, 'vertical', 90, 32, { technique: 'point' })),
    travelling('top', 'vertical', 90, 65, { technique: 'point' }),
    natural('fringe', 58, 'brow', 3, { technique: 'slice', notes: 'Worn to the side.' }),
  ],
  lengths: lengths({ fringe: 58, top: 65, crown: 65, sides: 32, back: 22, nape: 6 }, ['nape']),
  links: [
    apart('nape', 'back'),
    blended('back', 'left-side'),
    blended('back', 'right-side'),
    apart('back', 'crown'),
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
    clipped('nape', 6, 'guard 2', { notes: 'To a finger above the hairline; hard edge.' }),
    ...STACKED_WEDGE.steps
      .filter(({ zone }) => zone !== 'nape')
      .map((step) => (step.zone === 'back' ? { ...step, lengthAtGuideMm: 26, geometry: null } : step)),
  ],
  lengths: lengths({ fringe: 89, top: 94, crown: 87, sides: 66, back: 26, nape: 6 }, ['nape']),
  links: [apart('nape', 'back'), ...STACKED_WEDGE.links.filter(({ zone }) => zone !== 'nape')],
  limits: [longerThan('nape', 19), weightLineDrops('back', 14), ...SIDES.map((side) => grownBy(side, 18))],
};
