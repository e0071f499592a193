import type {
  Connection,
  CutFormula as EngineFormula,
  CutStep as EngineStep,
  OverDirection,
} from '../engine/cut/index.js';
import { ZONES, type Zone } from '../engine/zones.js';
import type { CutStep, ZoneLength, ZoneLink } from './entities.js';
import type { StepGeometry } from './step-geometry.js';

type Anchor = NonNullable<StepGeometry['anchor']>;

/** Where a guide stands when the formula does not say (common practice, no source). */
const USUAL_ANCHOR: Record<Zone, Anchor> = {
  fringe: 'trichion',
  top: 'apex',
  crown: 'whorl',
  'left-side': 'tragionLeft',
  'right-side': 'tragionRight',
  back: 'occipital',
  nape: 'nape',
};

const TOWARDS: Record<Zone, OverDirection['towards']> = {
  fringe: 'face',
  top: 'up',
  crown: 'back',
  'left-side': 'left',
  'right-side': 'right',
  back: 'back',
  nape: 'down',
};

/** Height of a taper that is not measured: from the hairline to about the zone's upper edge (ours, no source). */
const USUAL_TAPER_MM = 60;

/** Zones whose length stands in for one that nobody recorded. */
const LIKE: Record<Zone, readonly Zone[]> = {
  fringe: ['top', 'crown'],
  top: ['crown', 'fringe'],
  crown: ['top', 'back'],
  'left-side': ['right-side', 'back'],
  'right-side': ['left-side', 'back'],
  back: ['crown', 'nape'],
  nape: ['back'],
};

type StepText = Pick<
  CutStep,
  | 'zone'
  | 'method'
  | 'section'
  | 'elevationDeg'
  | 'geometry'
  | 'overDirectedTo'
  | 'overDirectedSections'
  | 'fingerAngleDeg'
  | 'lengthAtGuideMm'
  | 'endLengthMm'
  | 'sectionDepthMm'
  | 'stepPerSectionMm'
  | 'technique'
  | 'leftToGrow'
>;
type LengthText = Pick<ZoneLength, 'zone' | 'leftMm'>;

/** The parts of a recorded formula that the engine needs. */
export type Recorded = {
  readonly steps: readonly StepText[];
  readonly lengths: readonly LengthText[];
  readonly links: readonly Pick<ZoneLink, 'zone' | 'neighbour' | 'kind'>[];
};

function engineStep(step: StepText, standsMm: number): EngineStep {
  const geometry = step.geometry ?? {};
  const zones = [step.zone, ...(geometry.withZones ?? []).filter((zone) => zone !== step.zone)];
  const { technique } = step;
  const lengthMm = step.lengthAtGuideMm ?? standsMm;
  const anchor = geometry.anchor ?? USUAL_ANCHOR[step.zone];
  const travelling = (elevationDegrees: number): EngineStep => ({
    kind: 'travelling',
    zones,
    technique,
    guide: geometry.guideZone ? { kind: 'zone', zone: geometry.guideZone } : { kind: 'length', lengthMm },
    ...(geometry.startAt && { startAt: geometry.startAt }),
    section: step.section ?? 'horizontal',
    elevationDegrees,
    fingerAngleDegrees: step.fingerAngleDeg,
    stepPerSectionMm: step.section === 'radial' ? 0 : step.stepPerSectionMm,
    ...(step.sectionDepthMm !== null && { sectionDepthMm: step.sectionDepthMm }),
    ...(step.overDirectedTo &&
      step.overDirectedSections > 0 && {
        overDirection: { sections: step.overDirectedSections, towards: TOWARDS[step.overDirectedTo] },
      }),
  });
  switch (step.method) {
    case 'travelling-guide':
      return travelling(step.elevationDeg ?? 0);
    case 'natural-fall':
      // Without a line in space, hair that is not lifted falls to the line of its guide.
      if (!geometry.anchor) return travelling(0);
      return {
        kind: 'natural-fall',
        zones,
        technique,
        anchor,
        ...(geometry.belowMm !== undefined && { belowMm: geometry.belowMm }),
        ...(geometry.dropToFaceDeg !== undefined && { dropToFaceDegrees: geometry.dropToFaceDeg }),
      };
    case 'stationary-guide':
      return {
        kind: 'stationary',
        zones,
        technique,
        anchor,
        lengthMm,
        ...(geometry.held && { held: geometry.held }),
        shape: geometry.cutTo ?? 'point',
      };
    case 'held-to-level':
      return { kind: 'held-up', zones, technique, anchor, lengthMm };
    case 'clipper-guard':
      return { kind: 'even', zones, technique, lengthMm };
    case 'taper':
      return {
        kind: 'taper',
        zones,
        technique,
        fromMm: lengthMm,
        toMm: step.endLengthMm ?? lengthMm,
        overMm: geometry.overMm ?? USUAL_TAPER_MM,
      };
    case 'texture':
      return { kind: 'texture', zones, technique };
  }
}

/** A recorded length for every zone that no step cuts, so that the whole head can be drawn. */
function fillIn(lengths: ReadonlyMap<Zone, number>, cut: ReadonlySet<Zone>): Map<Zone, number> {
  const filled = new Map(lengths);
  for (const zone of ZONES) {
    if (filled.has(zone) || cut.has(zone)) continue;
    const like = LIKE[zone].find((other) => lengths.has(other));
    filled.set(zone, (like && lengths.get(like)) ?? 0);
  }
  return filled;
}

/**
 * A recorded formula as the engine cuts it. The lengths recorded for zones win over what the steps give. Zones left to
 * grow are not cut.
 */
export function engineFormula(whole: Recorded): EngineFormula {
  const lengths = new Map(whole.lengths.map(({ zone, leftMm }) => [zone, leftMm]));
  const steps = whole.steps
    .filter(({ leftToGrow }) => !leftToGrow)
    .map((step) => engineStep(step, lengths.get(step.zone) ?? 0));
  const cut = new Set(steps.flatMap((step) => (step.kind === 'texture' ? [] : step.zones)));
  const connections = whole.links.map(
    ({ zone, neighbour, kind }): Connection => ({ between: [zone, neighbour], join: kind }),
  );
  return { steps, connections, measuredMm: Object.fromEntries(fillIn(lengths, cut)) };
}
