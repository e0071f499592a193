import type { CutStep, HoldLimitRow, ZoneLength, ZoneLink } from '../src/cuts/index.js';
import type { ReadLandmark } from '../src/engine/shape/index.js';
import type { Zone } from '../src/engine/zones.js';

type OfFormula = 'id' | 'formulaId';
export type StepText = Omit<CutStep, OfFormula | 'position'>;
export type LimitText = Omit<HoldLimitRow, OfFormula>;
export type LinkText = Omit<ZoneLink, OfFormula>;
export type LengthText = Pick<ZoneLength, 'zone' | 'leftMm' | 'leftSdMm'>;

/** A shape as a stylist would write it down. Lengths in mm; common practice throughout, no source. */
export type Shape = {
  readonly name: string;
  /** House formula that it was made from, when it is none itself. */
  readonly basedOn?: string;
  readonly notes: string;
  /** In cutting order. */
  readonly steps: readonly StepText[];
  readonly lengths: readonly LengthText[];
  readonly links: readonly LinkText[];
  readonly limits: readonly LimitText[];
};

const PLAIN: Omit<StepText, 'zone' | 'method'> = {
  section: null,
  elevationDeg: null,
  guide: null,
  guideAt: null,
  geometry: null,
  overDirectedTo: null,
  overDirectedSections: 0,
  fingerAngleDeg: 0,
  lengthAtGuideMm: null,
  endLengthMm: null,
  sectionDepthMm: null,
  stepPerSectionMm: 0,
  technique: 'club',
  tool: null,
  leftToGrow: false,
  notes: '',
};

/** One error of the hand in a length cut with scissors, and with a clipper's guard. */
const HAND_SD_MM = 3;
const GUARD_SD_MM = 1;

export const SIDES = ['left-side', 'right-side'] as const;

type Anchor = 'nape' | 'occipital' | 'brow' | 'whorl';
const ANCHOR_WORDS: Readonly<Record<Anchor, string>> = {
  nape: 'nape hairline',
  occipital: 'occipital bone',
  brow: 'brow',
  whorl: 'crown',
};

/** "line 20 mm below the nape hairline" */
function lineInWords(anchor: Anchor, belowMm: number): string {
  const name = ANCHOR_WORDS[anchor];
  if (belowMm === 0) return `line at the ${name}`;
  return `line ${Math.abs(belowMm)} mm ${belowMm > 0 ? 'below' : 'above'} the ${name}`;
}

type Extra = Partial<Omit<StepText, 'zone' | 'method'>>;

/** Held out at an elevation from natural fall, each section against the one before. */
export function travelling(
  zone: Zone,
  section: NonNullable<StepText['section']>,
  elevationDeg: number,
  lengthAtGuideMm: number,
  extra: Extra = {},
): StepText {
  return {
    ...PLAIN,
    zone,
    method: 'travelling-guide',
    section,
    elevationDeg,
    guide: 'travelling',
    lengthAtGuideMm,
    sectionDepthMm: 10,
    ...extra,
  };
}

/** All sections brought to one point that stands still, above the landmark. */
export function stationary(
  zone: Zone,
  section: NonNullable<StepText['section']>,
  elevationDeg: number,
  lengthAtGuideMm: number,
  anchor: Anchor,
  extra: Extra = {},
): StepText {
  return {
    ...PLAIN,
    zone,
    method: 'stationary-guide',
    section,
    elevationDeg,
    guide: 'stationary',
    guideAt: ANCHOR_WORDS[anchor],
    lengthAtGuideMm,
    sectionDepthMm: 15,
    geometry: { anchor, cutTo: 'point' },
    ...extra,
  };
}

/** Combed down and cut to one line, `belowMm` under the landmark at its height. */
export function natural(
  zone: Zone,
  lengthAtGuideMm: number,
  anchor: Anchor,
  belowMm: number,
  extra: Extra = {},
): StepText {
  return {
    ...PLAIN,
    zone,
    method: 'natural-fall',
    section: 'horizontal',
    elevationDeg: 0,
    guide: 'stationary',
    guideAt: lineInWords(anchor, belowMm),
    lengthAtGuideMm,
    sectionDepthMm: 10,
    geometry: { anchor, belowMm },
    ...extra,
  };
}

/** Lifted straight up and cut to a level line, so that the length grows towards the ridge: square. */
export function square(zone: Zone, lengthAtGuideMm: number, extra: Extra = {}): StepText {
  return {
    ...PLAIN,
    zone,
    method: 'held-to-level',
    section: 'vertical',
    guide: 'stationary',
    guideAt: 'level above the apex',
    lengthAtGuideMm,
    sectionDepthMm: 15,
    technique: 'point',
    geometry: { anchor: 'apex' },
    ...extra,
  };
}

/** Held straight out to the side and cut to an upright plane: square as well. */
export function squareSide(
  zone: (typeof SIDES)[number],
  lengthAtGuideMm: number,
  extra: Extra = {},
): StepText {
  const isLeft = zone === 'left-side';
  return {
    ...PLAIN,
    zone,
    method: 'stationary-guide',
    section: 'vertical',
    elevationDeg: 90,
    guide: 'stationary',
    guideAt: 'upright plane above the ear',
    lengthAtGuideMm,
    sectionDepthMm: 15,
    technique: 'scissor-over-comb',
    tool: 'wide comb',
    geometry: {
      anchor: isLeft ? 'tragionLeft' : 'tragionRight',
      held: isLeft ? 'left' : 'right',
      cutTo: 'plane',
    },
    ...extra,
  };
}

export function clipped(zone: Zone, lengthAtGuideMm: number, tool: string, extra: Extra = {}): StepText {
  return {
    ...PLAIN,
    zone,
    method: 'clipper-guard',
    lengthAtGuideMm,
    technique: 'clipper-over-comb',
    tool,
    ...extra,
  };
}

/** `sides` holds for both; a zone named in `guarded` was cut by a guard and is surer. */
export function lengths(
  mm: Readonly<Record<Exclude<Zone, (typeof SIDES)[number]> | 'sides', number>>,
  guarded: readonly Zone[] = [],
): LengthText[] {
  const { sides, ...others } = mm;
  const all = { ...others, 'left-side': sides, 'right-side': sides };
  return Object.entries(all).map(([zone, leftMm]) => ({
    zone: zone as Zone,
    leftMm,
    leftSdMm: guarded.includes(zone as Zone) ? GUARD_SD_MM : HAND_SD_MM,
  }));
}

const LIMIT = { against: null, by: null, landmark: null, sd: null };

export const grownBy = (zone: Zone, mm: number): LimitText => ({
  ...LIMIT,
  kind: 'grown-by',
  zone,
  value: mm,
});
export const longerThan = (zone: Zone, mm: number): LimitText => ({
  ...LIMIT,
  kind: 'longer-than',
  zone,
  value: mm,
});
/** Holds until the ends hang `mm` past the landmark. */
export const reaches = (zone: Zone, landmark: ReadLandmark, mm = 0): LimitText => ({
  ...LIMIT,
  kind: 'landmark',
  zone,
  landmark,
  value: mm,
});
export const weightLineDrops = (zone: Zone, mm: number): LimitText => ({
  ...LIMIT,
  kind: 'weight-line',
  zone,
  value: mm,
});
export const rootBand = (zone: Zone, mm: number): LimitText => ({
  ...LIMIT,
  kind: 'root-band',
  zone,
  value: mm,
});
/** Holds while `against` is at least so many times as long as `zone`. */
export const timesAsLong = (zone: Zone, against: Zone, ratio: number): LimitText => ({
  ...LIMIT,
  kind: 'contrast',
  zone,
  against,
  by: 'ratio',
  value: ratio,
});

export const blended = (zone: Zone, neighbour: Zone): LinkText => ({ zone, neighbour, kind: 'blended' });
export const apart = (zone: Zone, neighbour: Zone): LinkText => ({ zone, neighbour, kind: 'disconnected' });
