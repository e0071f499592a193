import type { Landmarks, Point } from '../head/index.js';
import type { Zone } from '../zones.js';

export type Section = 'horizontal' | 'vertical' | 'diagonal-forward' | 'diagonal-back' | 'radial';

export type Technique = 'club' | 'point' | 'slice' | 'scissor-over-comb' | 'clipper-over-comb' | 'razor';

export type LandmarkName = keyof Landmarks;

interface OnZones {
  /** The zones cut as one region: the guide travels through all of them. */
  readonly zones: readonly Zone[];
  /** How the ends are treated; club (blunt) if unset. */
  readonly technique?: Technique;
}

/** Where the first length comes from: a length of its own, or hair of a zone that is cut already. */
export type Guide =
  | { readonly kind: 'length'; readonly lengthMm: number }
  | { readonly kind: 'zone'; readonly zone: Zone };

/** Hair combed `sections` sections back towards the guide; it stays longer the further it lies from there. */
export interface OverDirection {
  /** 0 to 20; fractions are allowed. */
  readonly sections: number;
  readonly towards: 'back' | 'face' | 'up' | 'down' | 'left' | 'right';
}

/** A guide that travels from section to section. */
export interface TravellingStep extends OnZones {
  readonly kind: 'travelling';
  readonly guide: Guide;
  /** The edge of the region the sections start from; below (towards the hairline) if unset. */
  readonly startAt?: 'below' | 'above';
  readonly section: Section;
  /** Degrees from natural fall, 0 to 180; 90 stands straight out. */
  readonly elevationDegrees: number;
  /** Degrees the cutting line is tilted; positive leaves hair longer further up. -75 to 75, 0 if unset. */
  readonly fingerAngleDegrees?: number;
  /** Longer (positive) or shorter by so many mm with every section, -50 to 50; 0 if unset. */
  readonly stepPerSectionMm?: number;
  /** Depth of a section, over 0 to 60 mm; a finger's width (18) if unset. */
  readonly sectionDepthMm?: number;
  readonly overDirection?: OverDirection;
}

/** A place: a landmark, or a point in mm on this head. */
export type Anchor = LandmarkName | Point;

/** All hair is brought to one place and cut there. The hair at `anchor` is left `lengthMm` long. */
export interface StationaryStep extends OnZones {
  readonly kind: 'stationary';
  readonly anchor: Anchor;
  readonly lengthMm: number;
  /** Where the hair at the anchor is held: out, square to the head, if unset. */
  readonly held?: Held;
  /** To a point, to a line through it, or to a plane square to `held`. */
  readonly shape: 'point' | 'line-front-to-back' | 'line-side-to-side' | 'plane';
}

export type Held = 'out' | 'up' | 'forward' | 'back' | 'left' | 'right';

/** Hair falls the way it lies and is cut to a line in space. */
export interface NaturalFallStep extends OnZones {
  readonly kind: 'natural-fall';
  readonly anchor: Anchor;
  /** How far below the anchor the line runs, mm; negative above. */
  readonly belowMm?: number;
  /** Degrees the line drops towards the face; -60 to 60. */
  readonly dropToFaceDegrees?: number;
  /** Degrees the line drops towards the client's left; -60 to 60. */
  readonly dropToLeftDegrees?: number;
}

/** Hair is lifted straight up and cut to one level above the head, `lengthMm` above the anchor. */
export interface HeldUpStep extends OnZones {
  readonly kind: 'held-up';
  readonly anchor: Anchor;
  readonly lengthMm: number;
}

/** One length all over, as a clipper guard leaves it. */
export interface EvenStep extends OnZones {
  readonly kind: 'even';
  readonly lengthMm: number;
}

/** Freehand over the comb: from one length at the hairline to another, over a height; above it hair is left. */
export interface TaperStep extends OnZones {
  readonly kind: 'taper';
  readonly fromMm: number;
  readonly toMm: number;
  /** Over 0 to 250 mm, upright. */
  readonly overMm: number;
}

/** Ends are softened, lengths stay. */
export interface TextureStep extends OnZones {
  readonly kind: 'texture';
  readonly technique: Technique;
}

export type CutStep =
  | TravellingStep
  | StationaryStep
  | NaturalFallStep
  | HeldUpStep
  | EvenStep
  | TaperStep
  | TextureStep;

/** How two zones meet. Blended takes the longer side down to the shorter one over `widthMm` (0 to 40, 20 if unset). */
export interface Connection {
  readonly between: readonly [Zone, Zone];
  readonly join: 'blended' | 'disconnected';
  readonly widthMm?: number;
}

/** How a shape is cut: steps in order, each of which can only take hair off what the earlier ones left. */
export interface CutFormula {
  readonly steps: readonly CutStep[];
  /** Pairs not named are blended. */
  readonly connections?: readonly Connection[];
  /** Lengths typed or measured at a zone's guide (mm). They win over what the steps give. */
  readonly measuredMm?: Readonly<Partial<Record<Zone, number>>>;
}

/** Longest hair the engine computes with. */
export const LONGEST_MM = 2000;
export const FINGER_WIDTH_MM = 18;
