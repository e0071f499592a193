import type { Held, LandmarkName, StationaryStep, TravellingStep } from '../engine/cut/index.js';
import type { Zone } from '../engine/zones.js';

export const ANCHORS = [
  'apex',
  'whorl',
  'trichion',
  'brow',
  'lidCrease',
  'upperLid',
  'tragionLeft',
  'tragionRight',
  'mastoidLeft',
  'mastoidRight',
  'occipital',
  'inion',
  'nape',
  'ridgeLeft',
  'ridgeRight',
] as const satisfies readonly LandmarkName[];

export const HOLDS = ['out', 'up', 'forward', 'back', 'left', 'right'] as const satisfies readonly Held[];
export const CUT_TO = [
  'point',
  'line-front-to-back',
  'line-side-to-side',
  'plane',
] as const satisfies readonly StationaryStep['shape'][];
export const STARTS = ['below', 'above'] as const satisfies readonly NonNullable<TravellingStep['startAt']>[];

/** What the engine needs of a step beyond the trade's usual words; every part may be left out. Lengths mm. */
export type StepGeometry = {
  readonly withZones?: Zone[];
  readonly startAt?: (typeof STARTS)[number];
  readonly guideZone?: Zone;
  readonly anchor?: (typeof ANCHORS)[number];
  readonly held?: (typeof HOLDS)[number];
  readonly cutTo?: (typeof CUT_TO)[number];
  /** Below the anchor; negative above. */
  readonly belowMm?: number;
  readonly dropToFaceDeg?: number;
  /** Height over which a taper goes. */
  readonly overMm?: number;
};
