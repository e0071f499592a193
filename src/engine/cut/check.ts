import { EngineError, requireNumber } from '../errors.js';
import { isZone, type Zone } from '../zones.js';
import { type Anchor, type CutFormula, type CutStep, FINGER_WIDTH_MM, LONGEST_MM } from './formula.js';

const SECTIONS = ['horizontal', 'vertical', 'diagonal-forward', 'diagonal-back', 'radial'];
const TECHNIQUES = ['club', 'point', 'slice', 'scissor-over-comb', 'clipper-over-comb', 'razor'];
const TOWARDS = ['back', 'face', 'up', 'down', 'left', 'right'];
const HELD = ['out', 'up', 'forward', 'back', 'left', 'right'];
const SHAPES = ['point', 'line-front-to-back', 'line-side-to-side', 'plane'];

/**
 * Refuses a formula that cannot be computed, naming the step (from 1) and the field: lengths below 0, a section
 * depth of 0, unknown zones and words, guides that run in a loop or come from a zone that is not cut yet.
 * `given` are zones whose lengths are known without a step.
 */
export function checkFormula(formula: CutFormula, given: ReadonlySet<Zone>): void {
  for (const [zone, mm] of Object.entries(formula.measuredMm ?? {})) {
    requireZone(zone, 'measuredMm');
    requireNumber(mm, `measuredMm.${zone}`, 0, LONGEST_MM);
  }
  for (const connection of formula.connections ?? []) {
    const [a, b] = connection.between;
    requireZone(a, 'connections.between');
    requireZone(b, 'connections.between');
    if (a === b) {
      throw new EngineError('ENGINE.IMPOSSIBLE', 'connections.between', `${a} cannot be joined to itself.`);
    }
    requireWord(connection.join, ['blended', 'disconnected'], 'connections.join');
    requireNumber(connection.widthMm ?? 0, 'connections.widthMm', 0, 40);
  }
  formula.steps.forEach((step, i) => {
    checkStep(step, i + 1);
  });
  checkGuides(formula.steps, given);
}

function checkStep(step: CutStep, number: number): void {
  if (step.zones.length === 0) {
    throw new EngineError('ENGINE.IMPOSSIBLE', 'zones', `Step ${number} names no zone: add one.`, number);
  }
  for (const zone of step.zones) requireZone(zone, 'zones', number);
  if (step.technique !== undefined) requireWord(step.technique, TECHNIQUES, 'technique', number);
  const within = (value: number, field: string, min: number, max: number): void => {
    requireNumber(value, field, min, max, number);
  };
  switch (step.kind) {
    case 'travelling': {
      if (step.guide.kind === 'length') within(step.guide.lengthMm, 'guide.lengthMm', 0, LONGEST_MM);
      else requireZone(step.guide.zone, 'guide.zone', number);
      requireWord(step.section, SECTIONS, 'section', number);
      requireWord(step.startAt ?? 'below', ['below', 'above'], 'startAt', number);
      within(step.elevationDegrees, 'elevationDegrees', 0, 180);
      within(step.fingerAngleDegrees ?? 0, 'fingerAngleDegrees', -75, 75);
      within(step.stepPerSectionMm ?? 0, 'stepPerSectionMm', -50, 50);
      within(step.sectionDepthMm ?? FINGER_WIDTH_MM, 'sectionDepthMm', 0, 60);
      if (step.sectionDepthMm === 0) {
        throw new EngineError(
          'ENGINE.OUT_OF_RANGE',
          'sectionDepthMm',
          `The sections of step ${number} have no depth: give one over 0 mm.`,
          number,
        );
      }
      if (step.section === 'radial' && (step.stepPerSectionMm ?? 0) !== 0) {
        throw new EngineError(
          'ENGINE.IMPOSSIBLE',
          'stepPerSectionMm',
          `Radial sections close a circle, so step ${number} cannot grow with every section: set it to 0.`,
          number,
        );
      }
      if (step.overDirection !== undefined) {
        within(step.overDirection.sections, 'overDirection.sections', 0, 20);
        requireWord(step.overDirection.towards, TOWARDS, 'overDirection.towards', number);
      }
      return;
    }
    case 'stationary':
      requireWord(step.shape, SHAPES, 'shape', number);
      requireWord(step.held ?? 'out', HELD, 'held', number);
      checkAnchor(step.anchor, number);
      within(step.lengthMm, 'lengthMm', 0, LONGEST_MM);
      return;
    case 'natural-fall':
      checkAnchor(step.anchor, number);
      within(step.belowMm ?? 0, 'belowMm', -LONGEST_MM, LONGEST_MM);
      within(step.dropToFaceDegrees ?? 0, 'dropToFaceDegrees', -60, 60);
      within(step.dropToLeftDegrees ?? 0, 'dropToLeftDegrees', -60, 60);
      return;
    case 'held-up':
      checkAnchor(step.anchor, number);
      within(step.lengthMm, 'lengthMm', 0, LONGEST_MM);
      return;
    case 'even':
      within(step.lengthMm, 'lengthMm', 0, LONGEST_MM);
      return;
    case 'taper':
      within(step.fromMm, 'fromMm', 0, LONGEST_MM);
      within(step.toMm, 'toMm', 0, LONGEST_MM);
      within(step.overMm, 'overMm', 1, 250);
      return;
    case 'texture':
      requireWord(step.technique, TECHNIQUES, 'technique', number);
      return;
    default:
      throw new EngineError('ENGINE.IMPOSSIBLE', 'kind', `Step ${number} is of an unknown kind.`, number);
  }
}

function checkAnchor(anchor: Anchor, number: number): void {
  if (typeof anchor === 'string') return;
  for (const axis of ['x', 'y', 'z'] as const) {
    requireNumber(anchor[axis], `anchor.${axis}`, -LONGEST_MM, LONGEST_MM, number);
  }
}

/** Every guide taken from a zone must be there when its step comes. */
function checkGuides(steps: readonly CutStep[], given: ReadonlySet<Zone>): void {
  const cut = new Set<Zone>(given);
  steps.forEach((step, i) => {
    if (step.kind === 'travelling' && step.guide.kind === 'zone') {
      const wanted = step.guide.zone;
      if (!cut.has(wanted) || step.zones.includes(wanted)) {
        const loop = leadsBack(steps, wanted, step.zones);
        throw new EngineError(
          'ENGINE.IMPOSSIBLE',
          'guide.zone',
          loop
            ? `The guides run in a loop: step ${i + 1} takes its guide from ${wanted}, which takes its own from ${step.zones.join(', ')}. Give one of them a length.`
            : `Step ${i + 1} takes its guide from ${wanted}, which is not cut yet: cut it first or give a length.`,
          i + 1,
        );
      }
    }
    if (step.kind !== 'texture') for (const zone of step.zones) cut.add(zone);
  });
}

function leadsBack(steps: readonly CutStep[], from: Zone, targets: readonly Zone[]): boolean {
  const seen = new Set<Zone>();
  const open = [from];
  for (let zone = open.pop(); zone !== undefined; zone = open.pop()) {
    if (targets.includes(zone)) return true;
    if (seen.has(zone)) continue;
    seen.add(zone);
    for (const step of steps) {
      if (step.kind === 'travelling' && step.guide.kind === 'zone' && step.zones.includes(zone)) {
        open.push(step.guide.zone);
      }
    }
  }
  return false;
}

function requireZone(zone: unknown, field: string, step?: number): void {
  if (!isZone(zone)) {
    throw new EngineError('ENGINE.UNKNOWN_ZONE', field, `${String(zone)} is not a zone of the head.`, step);
  }
}

function requireWord(word: string, known: readonly string[], field: string, step?: number): void {
  if (!known.includes(word)) {
    throw new EngineError('ENGINE.IMPOSSIBLE', field, `${field} must be one of ${known.join(', ')}.`, step);
  }
}
