import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { buildHead } from '../head/index.js';
import { buildFallTable } from '../shape/fall.js';
import { ZONES, type Zone } from '../zones.js';
import { type CutFormula, type CutStep, cutHead, mirrorFormula } from './index.js';

const ALL = [...ZONES];
const even = (zones: readonly Zone[], lengthMm: number): CutStep => ({ kind: 'even', zones, lengthMm });

// Formulas a stylist could say, every kind of step among them.
const zonesArb = fc.uniqueArray(fc.constantFrom(...ALL), { minLength: 1, maxLength: 7 });
const lengthArb = fc.double({ min: 0, max: 300, noNaN: true });
const anchorArb = fc.constantFrom('apex', 'occipital', 'nape', 'ridgeLeft', 'whorl', 'trichion' as const);
const stepArb: fc.Arbitrary<CutStep> = fc.oneof(
  fc.record({
    kind: fc.constant('travelling' as const),
    zones: zonesArb,
    guide: fc.record({ kind: fc.constant('length' as const), lengthMm: lengthArb }),
    startAt: fc.constantFrom('below' as const, 'above' as const),
    section: fc.constantFrom('horizontal', 'vertical', 'diagonal-forward', 'diagonal-back' as const),
    elevationDegrees: fc.double({ min: 0, max: 180, noNaN: true }),
    fingerAngleDegrees: fc.double({ min: -45, max: 45, noNaN: true }),
    stepPerSectionMm: fc.double({ min: -10, max: 10, noNaN: true }),
    sectionDepthMm: fc.double({ min: 8, max: 30, noNaN: true }),
    overDirection: fc.record({
      sections: fc.double({ min: 0, max: 3, noNaN: true }),
      towards: fc.constantFrom('back', 'face', 'up', 'down', 'left', 'right' as const),
    }),
  }),
  fc.record({
    kind: fc.constant('stationary' as const),
    zones: zonesArb,
    anchor: fc.constantFrom('apex', 'whorl', 'ridgeLeft', 'ridgeRight' as const),
    lengthMm: lengthArb,
    held: fc.constantFrom('out', 'up' as const),
    shape: fc.constantFrom('point', 'plane' as const),
  }),
  fc.record({
    kind: fc.constant('natural-fall' as const),
    zones: zonesArb,
    anchor: anchorArb,
    belowMm: fc.double({ min: -50, max: 200, noNaN: true }),
    dropToLeftDegrees: fc.double({ min: -30, max: 30, noNaN: true }),
  }),
  fc.record({
    kind: fc.constant('held-up' as const),
    zones: zonesArb,
    anchor: anchorArb,
    lengthMm: lengthArb,
  }),
  fc.record({ kind: fc.constant('even' as const), zones: zonesArb, lengthMm: lengthArb }),
  fc.record({
    kind: fc.constant('taper' as const),
    zones: zonesArb,
    fromMm: lengthArb,
    toMm: lengthArb,
    overMm: fc.double({ min: 5, max: 120, noNaN: true }),
  }),
);
/** Some start from hair cut to one length, and may then take guides from any other zone. */
const formulaArb: fc.Arbitrary<CutFormula> = fc.record({
  steps: fc
    .tuple(
      fc.boolean(),
      fc.array(fc.tuple(stepArb, fc.constantFrom(...ALL), fc.boolean()), { minLength: 1, maxLength: 4 }),
    )
    .map(([cutBefore, drawn]) => {
      const steps = drawn.map(
        ([step, guide, fromZone]): CutStep =>
          step.kind === 'travelling' && cutBefore && fromZone && !step.zones.includes(guide)
            ? { ...step, guide: { kind: 'zone', zone: guide } }
            : step,
      );
      return cutBefore ? [even(ALL, 350), ...steps] : [...steps, even(ALL, 400)];
    }),
  measuredMm: fc.option(fc.record({ top: lengthArb }), { nil: {} }),
});

describe('any formula', () => {
  const small = buildHead({ rootCount: 500 });
  const smallFall = buildFallTable(small);

  it('gives finite lengths from 0 up, the same twice', () => {
    fc.assert(
      fc.property(formulaArb, (formula) => {
        const made = cutHead(small, smallFall, formula);
        expect(made.lengthMm.every((mm) => Number.isFinite(mm) && mm >= 0)).toBe(true);
        expect(made.spreadMm.every((mm) => Number.isFinite(mm) && mm >= 0)).toBe(true);
        expect(
          made.zones.every((of) => [of.meanMm, of.minMm, of.maxMm, of.guideMm].every(Number.isFinite)),
        ).toBe(true);
        expect(cutHead(small, smallFall, formula)).toEqual(made);
      }),
      { numRuns: 150 },
    );
  });

  it('mirrored gives the mirrored lengths', () => {
    fc.assert(
      fc.property(formulaArb, (formula) => {
        const made = cutHead(small, smallFall, formula);
        const mirrored = cutHead(small, smallFall, mirrorFormula(formula));
        let worst = 0;
        for (let i = 0; i < small.roots.count; i += 2) {
          worst = Math.max(
            worst,
            Math.abs(made.lengthMm[i]! - mirrored.lengthMm[i + 1]!),
            Math.abs(made.lengthMm[i + 1]! - mirrored.lengthMm[i]!),
          );
        }
        expect(worst).toBeLessThan(0.01);
      }),
      { numRuns: 100 },
    );
  });

  it('scales with the head where its lengths do', () => {
    const k = 1.08;
    const large = buildHead({ rootCount: 500, circumferenceMm: 560 * k });
    const largeFall = buildFallTable(large);
    const scaled = (formula: CutFormula): CutFormula => ({
      steps: formula.steps.map((step) => scaleStep(step, k)),
      measuredMm: Object.fromEntries(
        Object.entries(formula.measuredMm ?? {}).map(([name, mm]) => [name, mm * k]),
      ),
    });
    fc.assert(
      fc.property(formulaArb, (formula) => {
        const made = cutHead(small, smallFall, formula);
        const other = cutHead(large, largeFall, scaled(formula));
        let worst = 0;
        for (let i = 0; i < small.roots.count; i++) {
          worst = Math.max(worst, Math.abs(other.lengthMm[i]! - k * made.lengthMm[i]!));
        }
        // the border of a zone is found to 0.03 mm
        expect(worst).toBeLessThan(0.1);
      }),
      { numRuns: 60 },
    );
  });
});

function scaleStep(step: CutStep, k: number): CutStep {
  switch (step.kind) {
    case 'travelling':
      return {
        ...step,
        guide:
          step.guide.kind === 'length' ? { kind: 'length', lengthMm: step.guide.lengthMm * k } : step.guide,
        stepPerSectionMm: (step.stepPerSectionMm ?? 0) * k,
        sectionDepthMm: (step.sectionDepthMm ?? 18) * k,
      };
    case 'natural-fall':
      return { ...step, belowMm: (step.belowMm ?? 0) * k };
    case 'taper':
      return { ...step, fromMm: step.fromMm * k, toMm: step.toMm * k, overMm: step.overMm * k };
    case 'texture':
      return step;
    default:
      return { ...step, lengthMm: step.lengthMm * k };
  }
}
