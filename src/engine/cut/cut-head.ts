import { EngineError } from '../errors.js';
import type { Head } from '../head/index.js';
import { arcToPlane, type CuttingPlane, type FallTable } from '../shape/fall.js';
import { ZONES, type Zone } from '../zones.js';
import { blendZones } from './blend.js';
import { checkFormula } from './check.js';
import { type CutFormula, type CutStep, LONGEST_MM, type NaturalFallStep } from './formula.js';
import { type GuidePlace, guideLengthMm, isAtGuide, type Scalp, scalpOf } from './scalp.js';
import { anchorPoint, cutStationary } from './stationary.js';
import { spreadOf } from './technique.js';
import { areLevel, cutTravelling } from './travelling.js';

/** Lengths of one zone in mm, weighted by the scalp each root stands for. */
export interface ZoneLengths {
  readonly zone: Zone;
  readonly meanMm: number;
  readonly minMm: number;
  readonly maxMm: number;
  /** Length at the zone's guide. */
  readonly guideMm: number;
  /** What the steps alone give at the guide, where the zone was measured as well as cut. */
  readonly derivedGuideMm?: number;
  /** Measured less derived: positive where the hair is longer than the formula gives. */
  readonly measuredMinusDerivedMm?: number;
  /** The most any hair falls short of what the formula wants, because the present hair is shorter; 0 if none. */
  readonly missingMm: number;
}

/** A step that would have left less than nothing in a zone; it was stopped at the skin. */
export interface ClampedZone {
  readonly zone: Zone;
  /** From 1; 0 where fitting to a measured length or blending did it. */
  readonly step: number;
  /** Part of the zone's roots it concerns, over 0 to 1. */
  readonly share: number;
}

export interface Cut {
  /** Length in mm at every root. */
  readonly lengthMm: Float32Array;
  /** Standard deviation in mm of the tips around that length. */
  readonly spreadMm: Float32Array;
  readonly zones: readonly ZoneLengths[];
  readonly clamped: readonly ClampedZone[];
}

const TAN_DEGREE = Math.PI / 180;

/**
 * Lengths at every root from a cut formula. `fallTable` must be that of `head`. `present` is the hair on the head
 * before the cut (mm at every root): hair can be taken off, never put back. Zones without a step keep their measured
 * or present length. The first call for a head takes some 0.3 s longer than the next ones.
 *
 * Throws EngineError with the step's number where the formula cannot be cut; see `checkFormula`.
 */
export function cutHead(
  head: Head,
  fallTable: FallTable,
  formula: CutFormula,
  present?: Float32Array | Float64Array,
): Cut {
  checkPresent(head, present);
  const given = new Set<Zone>(Object.keys(formula.measuredMm ?? {}) as Zone[]);
  if (present !== undefined) for (const zone of ZONES) given.add(zone);
  checkFormula(formula, given);

  const scalp = scalpOf(head);
  const { count } = head.roots;
  const length = new Float64Array(count).fill(Number.POSITIVE_INFINITY);
  const wanted = new Float64Array(count);
  const spread = new Float32Array(count);
  const places = new Map<Zone, GuidePlace>();
  const clamped: ClampedZone[] = [];

  formula.steps.forEach((step, index) => {
    if (step.kind !== 'texture') {
      cutStep(scalp, fallTable, formula, step, index + 1, places, present, length, wanted);
      for (const zone of new Set(step.zones)) {
        const roots = rootsOf(scalp, zone);
        let bare = 0;
        for (const i of roots) {
          if (wanted[i]! < 0) {
            bare++;
            wanted[i] = 0;
          }
          if (wanted[i]! < length[i]!) length[i] = wanted[i]!;
        }
        if (bare > 0) clamped.push({ zone, step: index + 1, share: bare / roots.length });
        if (!places.has(zone)) places.set(zone, placeOf(step));
      }
    }
    const technique = step.technique ?? 'club';
    if (technique !== 'club') {
      for (const zone of step.zones) {
        for (const i of rootsOf(scalp, zone)) {
          const reach = Number.isFinite(length[i]!) ? length[i]! : (present?.[i] ?? 0);
          spread[i] = Math.max(spread[i]!, spreadOf(technique, reach));
        }
      }
    }
  });

  const fitted = fitMeasured(scalp, formula, places, present, length, clamped);
  const measured = ZONES.map((zone) => formula.measuredMm?.[zone] !== undefined);
  blendZones(
    scalp,
    formula.connections ?? [],
    (i) => {
      const zone = head.roots.zone[i]!;
      return measured[zone]! && isAtGuide(scalp, places.get(ZONES[zone]!) ?? 'below', i);
    },
    length,
  );
  return finish(scalp, places, present, length, spread, fitted, clamped);
}

/** Lengths a step wants for its zones, before anything earlier or present is considered. */
function cutStep(
  scalp: Scalp,
  fallTable: FallTable,
  formula: CutFormula,
  step: Exclude<CutStep, { kind: 'texture' }>,
  number: number,
  places: ReadonlyMap<Zone, GuidePlace>,
  present: Float32Array | Float64Array | undefined,
  length: Float64Array,
  wanted: Float64Array,
): void {
  const { head } = scalp;
  switch (step.kind) {
    case 'travelling': {
      let guide = 0;
      if (step.guide.kind === 'zone') {
        const { zone } = step.guide;
        if (!places.has(zone)) layKnown(scalp, zone, formula, present, length);
        const beside = areLevel(zone, step.zones) ? step.zones : undefined;
        guide = guideLengthMm(scalp, places.get(zone) ?? 'below', zone, length, beside);
      }
      cutTravelling(scalp, step, guide, length, wanted);
      return;
    }
    case 'stationary':
      for (const zone of step.zones) cutStationary(head, step, number, rootsOf(scalp, zone), wanted);
      return;
    case 'natural-fall': {
      const plane = cuttingPlane(head, step, number);
      for (const zone of step.zones) {
        for (const i of rootsOf(scalp, zone)) wanted[i] = arcToPlane(fallTable, i, plane);
      }
      return;
    }
    case 'held-up': {
      const level = anchorPoint(head, step.anchor, number).z + step.lengthMm;
      for (const zone of step.zones) {
        for (const i of rootsOf(scalp, zone)) wanted[i] = level - head.roots.position[3 * i + 2]!;
      }
      return;
    }
    case 'even':
      for (const zone of step.zones) for (const i of rootsOf(scalp, zone)) wanted[i] = step.lengthMm;
      return;
    case 'taper':
      for (const zone of step.zones) {
        for (const i of rootsOf(scalp, zone)) {
          const p = 3 * i;
          const az = (Math.atan2(head.roots.position[p]!, head.roots.position[p + 1]!) * 180) / Math.PI;
          const part = (head.roots.position[p + 2]! - head.hairlineZ(az)) / step.overMm;
          // Above the comb's way earlier lengths stay; where there are none the taper's end goes on.
          if (part < 1) wanted[i] = step.fromMm + (step.toMm - step.fromMm) * Math.max(0, part);
          else wanted[i] = Number.isFinite(length[i]!) ? length[i]! : step.toMm;
        }
      }
  }
}

function cuttingPlane(head: Head, step: NaturalFallStep, number: number): CuttingPlane {
  const anchor = anchorPoint(head, step.anchor, number);
  const forward = -Math.tan((step.dropToFaceDegrees ?? 0) * TAN_DEGREE);
  const right = Math.tan((step.dropToLeftDegrees ?? 0) * TAN_DEGREE);
  const z0Mm = anchor.z - (step.belowMm ?? 0) - forward * anchor.y - right * anchor.x;
  return { z0Mm, forward, right };
}

function placeOf(step: CutStep): GuidePlace {
  if (step.kind === 'travelling') return step.startAt ?? 'below';
  return step.kind === 'stationary' || step.kind === 'held-up' ? 'shortest' : 'below';
}

/** Gives a zone without a step the length that is known of it. */
function layKnown(
  scalp: Scalp,
  zone: Zone,
  formula: CutFormula,
  present: Float32Array | Float64Array | undefined,
  length: Float64Array,
): void {
  const measured = formula.measuredMm?.[zone];
  for (const i of rootsOf(scalp, zone)) {
    if (Number.isFinite(length[i]!)) return;
    const known = measured ?? present?.[i];
    if (known === undefined) {
      throw new EngineError(
        'ENGINE.IMPOSSIBLE',
        'steps',
        `Nothing says how long ${zone} is: add a step, a measured length or the present hair.`,
      );
    }
    length[i] = known;
  }
}

interface Fit {
  readonly measuredMm: number;
  readonly derivedMm: number;
}

/** Shifts every measured zone until its guide has the measured length; returns what the steps had given there. */
function fitMeasured(
  scalp: Scalp,
  formula: CutFormula,
  places: ReadonlyMap<Zone, GuidePlace>,
  present: Float32Array | Float64Array | undefined,
  length: Float64Array,
  clamped: ClampedZone[],
): ReadonlyMap<Zone, Fit> {
  const fitted = new Map<Zone, Fit>();
  for (const zone of ZONES) {
    layKnown(scalp, zone, formula, present, length);
    const measured = formula.measuredMm?.[zone];
    const place = places.get(zone);
    if (measured === undefined || place === undefined) continue;
    const from = guideLengthMm(scalp, place, zone, length);
    fitted.set(zone, { measuredMm: measured, derivedMm: from });
    const roots = rootsOf(scalp, zone);
    let bare = 0;
    for (const i of roots) {
      const shifted = length[i]! + measured - from;
      if (shifted < 0) bare++;
      length[i] = Math.max(0, shifted);
    }
    if (bare > 0) clamped.push({ zone, step: 0, share: bare / roots.length });
  }
  return fitted;
}

function finish(
  scalp: Scalp,
  places: ReadonlyMap<Zone, GuidePlace>,
  present: Float32Array | Float64Array | undefined,
  length: Float64Array,
  spread: Float32Array,
  fitted: ReadonlyMap<Zone, Fit>,
  clamped: readonly ClampedZone[],
): Cut {
  const { areaMm2 } = scalp.head.roots;
  const zones = ZONES.map((zone): ZoneLengths => {
    let area = 0;
    let sum = 0;
    let min = Number.POSITIVE_INFINITY;
    let max = 0;
    let missing = 0;
    const roots = rootsOf(scalp, zone);
    for (const i of roots) {
      let mm = Math.max(0, length[i]!);
      if (!Number.isFinite(mm)) {
        throw new EngineError('ENGINE.NOT_A_NUMBER', 'lengthMm', `The cut of ${zone} has no finite length.`);
      }
      if (present !== undefined && present[i]! < mm) {
        missing = Math.max(missing, mm - present[i]!);
        mm = present[i]!;
      }
      length[i] = mm;
      area += areaMm2[i]!;
      sum += areaMm2[i]! * mm;
      min = Math.min(min, mm);
      max = Math.max(max, mm);
    }
    const guideMm = guideLengthMm(scalp, places.get(zone) ?? 'below', zone, length);
    const fit = fitted.get(zone);
    return {
      zone,
      meanMm: area > 0 ? sum / area : 0,
      minMm: area > 0 ? min : 0,
      maxMm: max,
      guideMm,
      missingMm: missing,
      ...(fit !== undefined && {
        derivedGuideMm: fit.derivedMm,
        measuredMinusDerivedMm: fit.measuredMm - fit.derivedMm,
      }),
    };
  });
  return { lengthMm: Float32Array.from(length), spreadMm: spread, zones, clamped };
}

function rootsOf(scalp: Scalp, zone: Zone): Uint32Array {
  return scalp.neighbours.ofZone[ZONES.indexOf(zone)]!;
}

function checkPresent(head: Head, present: Float32Array | Float64Array | undefined): void {
  if (present === undefined) return;
  if (present.length !== head.roots.count) {
    throw new EngineError(
      'ENGINE.OUT_OF_RANGE',
      'present',
      `present must hold one length for each of the ${head.roots.count} roots.`,
    );
  }
  for (const mm of present) {
    if (!(mm >= 0 && mm <= LONGEST_MM)) {
      throw new EngineError(
        Number.isFinite(mm) ? 'ENGINE.OUT_OF_RANGE' : 'ENGINE.NOT_A_NUMBER',
        'present',
        `present must hold lengths from 0 to ${LONGEST_MM} mm.`,
      );
    }
  }
}
