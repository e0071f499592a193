import { type CutFormula, cutHead } from '../../src/engine/cut/index.js';
import { buildHead } from '../../src/engine/head/index.js';
import {
  buildFallTable,
  drawShape,
  drawStrip,
  evenRates,
  graduationTopLengthMm,
  growShape,
  type HairShape,
  hairShape,
  landmarkReadings,
  outlineFrom,
  shapeInWords,
  silhouette,
  type View,
  type WeightLine,
  weightLine,
  weightWindowOf,
} from '../../src/engine/shape/index.js';

interface Case {
  readonly formula: CutFormula;
  readonly views: readonly View[];
  /** Elevation, length at the nape and top of a graduated back, whose line is read from its top. */
  readonly graduated?: {
    readonly elevationDeg: number;
    readonly napeLengthMm: number;
    readonly toZMm: number;
  };
  readonly strip?: boolean;
}

/** Level over the brow; what falls forward from the top is taken back in a curve to the sides. */
const FRINGE = { kind: 'natural-fall', zones: ['fringe'], anchor: 'brow', belowMm: -2 } as const;
const FACE = {
  kind: 'natural-fall',
  zones: ['top'],
  anchor: 'brow',
  belowMm: 2,
  dropToFaceDegrees: -60,
} as const;

/** The fringe is cut apart from all around it. */
const APART = [
  { between: ['fringe', 'top'], join: 'disconnected' },
  { between: ['fringe', 'left-side'], join: 'disconnected' },
  { between: ['fringe', 'right-side'], join: 'disconnected' },
] as const;

/** Six shapes from shaved to shoulder, each by a formula a stylist would write. */
export const CASES: Readonly<Record<string, Case>> = {
  'one-length-bob': {
    formula: {
      steps: [
        {
          kind: 'natural-fall',
          zones: ['nape', 'back', 'crown', 'left-side', 'right-side', 'top'],
          anchor: 'nape',
          belowMm: -5,
        },
        FRINGE,
        FACE,
      ],
      connections: APART,
    },
    views: ['right', 'back', 'front'],
  },
  'stacked-bob': {
    formula: {
      steps: [
        {
          kind: 'travelling',
          zones: ['nape', 'back'],
          guide: { kind: 'length', lengthMm: 20 },
          section: 'horizontal',
          elevationDegrees: 60,
        },
        { kind: 'natural-fall', zones: ['crown'], anchor: 'occipital', belowMm: 55 },
        {
          kind: 'natural-fall',
          zones: ['left-side', 'right-side', 'top'],
          anchor: 'tragionLeft',
          belowMm: 42,
          dropToFaceDegrees: 14,
        },
        FRINGE,
        FACE,
      ],
      connections: APART,
    },
    views: ['right', 'back'],
    graduated: { elevationDeg: 60, napeLengthMm: 20, toZMm: -15 },
    strip: true,
  },
  'a-line': {
    formula: {
      steps: [
        {
          kind: 'natural-fall',
          zones: ['nape', 'back', 'crown', 'left-side', 'right-side', 'top'],
          anchor: 'nape',
          belowMm: 2,
          dropToFaceDegrees: 20,
        },
        FRINGE,
        FACE,
      ],
      connections: APART,
    },
    views: ['right'],
  },
  'round-layers': {
    formula: {
      steps: [
        { kind: 'even', zones: ['top', 'crown', 'left-side', 'right-side', 'back', 'nape'], lengthMm: 70 },
        { kind: 'natural-fall', zones: ['fringe'], anchor: 'brow', belowMm: -10 },
        { kind: 'texture', zones: ['top', 'crown', 'back'], technique: 'point' },
      ],
    },
    views: ['right', 'front'],
  },
  'wedge-pixie': {
    formula: {
      steps: [
        { kind: 'taper', zones: ['nape'], fromMm: 4, toMm: 22, overMm: 50 },
        {
          kind: 'travelling',
          zones: ['back', 'crown'],
          guide: { kind: 'zone', zone: 'nape' },
          section: 'horizontal',
          elevationDegrees: 70,
        },
        {
          kind: 'natural-fall',
          zones: ['left-side', 'right-side'],
          anchor: 'tragionLeft',
          belowMm: -14,
          dropToFaceDegrees: 12,
        },
        { kind: 'even', zones: ['top'], lengthMm: 70 },
        { kind: 'natural-fall', zones: ['fringe'], anchor: 'brow', belowMm: -6 },
      ],
    },
    views: ['right', 'left', 'back'],
  },
  'clipped-square': {
    formula: {
      steps: [
        { kind: 'held-up', zones: ['top', 'fringe', 'crown'], anchor: 'apex', lengthMm: 45 },
        { kind: 'natural-fall', zones: ['fringe'], anchor: 'brow', belowMm: -18 },
        { kind: 'taper', zones: ['nape', 'back'], fromMm: 3, toMm: 22, overMm: 110 },
        { kind: 'taper', zones: ['left-side', 'right-side'], fromMm: 6, toMm: 22, overMm: 60 },
      ],
    },
    views: ['right', 'front'],
    strip: true,
  },
};

/** Every golden drawing by file name. */
export function drawings(): Map<string, string> {
  const head = buildHead();
  const fall = buildFallTable(head);
  const rates = evenRates(0.35);
  const files = new Map<string, string>();
  for (const [name, { formula, views, graduated, strip }] of Object.entries(CASES)) {
    const { lengthMm, spreadMm } = cutHead(head, fall, formula);
    const shape = hairShape(head, fall, lengthMm);
    const line = lineOf(shape, spreadMm, graduated);
    const today = silhouette(shape);
    const later = silhouette(growShape(shape, rates, 42));
    const description = shapeInWords(landmarkReadings(shape), line);
    for (const view of views) {
      files.set(
        `${name}-${view}.svg`,
        drawShape(today, view, {
          id: `${name}-${view}`,
          title: `${name.replaceAll('-', ' ')}, ${view}`,
          description,
          ghost: outlineFrom(later, view),
          weightLine: line,
          standalone: true,
        }),
      );
    }
    if (!strip) continue;
    const frames = [0, 3, 5, 8].map((weeks) => ({
      silhouette: silhouette(growShape(shape, rates, 7 * weeks)),
      label: weeks === 0 ? 'Today' : `${weeks} weeks`,
    }));
    const title = `${name.replaceAll('-', ' ')}: today, in 3, 5 and 8 weeks`;
    files.set(
      `${name}-strip.svg`,
      drawStrip(frames, 'right', { id: `${name}-strip`, title, description, standalone: true }),
    );
  }
  return files;
}

function lineOf(shape: HairShape, spreadMm: Float32Array, graduated: Case['graduated']): WeightLine {
  const window = weightWindowOf(shape, ['crown', 'back', 'nape'], spreadMm);
  if (!graduated) return weightLine(window);
  const { toZMm } = graduated;
  const lengthMm = graduationTopLengthMm(shape.head, { ...graduated, fromZMm: shape.head.landmarks.nape.z });
  return weightLine(window, { zTopMm: toZMm, lengthMm });
}
