import type { FormulaInput } from '../../src/cuts/index.js';

/** A short shape as a stylist would record it: clipped nape, longer back, top and fringe. Lengths mm. */
export const CROP: FormulaInput = {
  name: 'Clipped back and sides',
  steps: [
    {
      zone: 'nape',
      method: 'clipper-guard',
      lengthAtGuideMm: 6,
      technique: 'clipper-over-comb',
      tool: 'guard 2',
    },
    {
      zone: 'back',
      method: 'travelling-guide',
      section: 'vertical',
      elevationDeg: 75,
      guide: 'travelling',
      lengthAtGuideMm: 25,
      sectionDepthMm: 20,
      technique: 'club',
    },
    {
      zone: 'top',
      method: 'travelling-guide',
      section: 'horizontal',
      elevationDeg: 90,
      guide: 'travelling',
      overDirectedTo: 'crown',
      overDirectedSections: 1,
      lengthAtGuideMm: 70,
      sectionDepthMm: 20,
      technique: 'point',
    },
  ],
  lengths: [
    { zone: 'nape', leftMm: 6, leftSdMm: 1 },
    { zone: 'back', leftMm: 25 },
    { zone: 'top', leftMm: 70 },
    { zone: 'fringe', leftMm: 80 },
  ],
  links: [
    { zone: 'nape', neighbour: 'back', kind: 'blended' },
    { zone: 'back', neighbour: 'top', kind: 'disconnected' },
  ],
  limits: [
    { kind: 'grown-by', zone: 'nape', value: 6 },
    { kind: 'longer-than', zone: 'fringe', value: 95 },
    { kind: 'contrast', zone: 'nape', against: 'back', by: 'ratio', value: 2 },
  ],
};

/** The same shape after a tidy: only the nape was cut, the rest left alone. */
export const CROP_TIDIED: FormulaInput = {
  ...CROP,
  lengths: CROP.lengths.map((length) => ({ ...length, cut: length.zone === 'nape' })),
};
