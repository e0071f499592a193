import { describe, expect, it } from '@jest/globals';
import type { CutFormula, CutStep } from './formula.js';
import { mirrorFormula } from './mirror.js';

const mirrored = (step: CutStep): CutStep | undefined => mirrorFormula({ steps: [step] }).steps[0];

describe('the same cut on the other side', () => {
  it.each<[string, CutStep, CutStep]>([
    [
      'a travelling guide of its own',
      {
        kind: 'travelling',
        zones: ['left-side', 'top'],
        guide: { kind: 'length', lengthMm: 40 },
        section: 'vertical',
        elevationDegrees: 60,
        overDirection: { sections: 2, towards: 'left' },
      },
      {
        kind: 'travelling',
        zones: ['right-side', 'top'],
        guide: { kind: 'length', lengthMm: 40 },
        section: 'vertical',
        elevationDegrees: 60,
        overDirection: { sections: 2, towards: 'right' },
      },
    ],
    [
      'a guide from a zone',
      {
        kind: 'travelling',
        zones: ['back'],
        guide: { kind: 'zone', zone: 'right-side' },
        section: 'horizontal',
        elevationDegrees: 0,
        technique: 'point',
      },
      {
        kind: 'travelling',
        zones: ['back'],
        guide: { kind: 'zone', zone: 'left-side' },
        section: 'horizontal',
        elevationDegrees: 0,
        technique: 'point',
      },
    ],
    [
      'a stationary guide at a landmark of the left, held to the right',
      {
        kind: 'stationary',
        zones: ['left-side'],
        anchor: 'ridgeLeft',
        lengthMm: 9,
        held: 'right',
        shape: 'plane',
      },
      {
        kind: 'stationary',
        zones: ['right-side'],
        anchor: 'ridgeRight',
        lengthMm: 9,
        held: 'left',
        shape: 'plane',
      },
    ],
    [
      'a stationary guide at a landmark of the right',
      { kind: 'stationary', zones: ['back'], anchor: 'mastoidRight', lengthMm: 9, shape: 'point' },
      { kind: 'stationary', zones: ['back'], anchor: 'mastoidLeft', lengthMm: 9, shape: 'point' },
    ],
    [
      'a stationary guide in the middle, held up',
      { kind: 'stationary', zones: ['top'], anchor: 'apex', lengthMm: 9, held: 'up', shape: 'point' },
      { kind: 'stationary', zones: ['top'], anchor: 'apex', lengthMm: 9, held: 'up', shape: 'point' },
    ],
    [
      'a falling line that drops to the left',
      { kind: 'natural-fall', zones: ['right-side'], anchor: { x: 7, y: 8, z: 9 }, dropToLeftDegrees: 12 },
      { kind: 'natural-fall', zones: ['left-side'], anchor: { x: -7, y: 8, z: 9 }, dropToLeftDegrees: -12 },
    ],
    [
      'a falling line that drops to the face',
      { kind: 'natural-fall', zones: ['nape'], anchor: 'nape', belowMm: 3, dropToFaceDegrees: 12 },
      { kind: 'natural-fall', zones: ['nape'], anchor: 'nape', belowMm: 3, dropToFaceDegrees: 12 },
    ],
    [
      'hair held up to a level',
      { kind: 'held-up', zones: ['left-side'], anchor: 'tragionLeft', lengthMm: 80 },
      { kind: 'held-up', zones: ['right-side'], anchor: 'tragionRight', lengthMm: 80 },
    ],
    [
      'a taper',
      { kind: 'taper', zones: ['left-side', 'nape'], fromMm: 3, toMm: 12, overMm: 40 },
      { kind: 'taper', zones: ['right-side', 'nape'], fromMm: 3, toMm: 12, overMm: 40 },
    ],
    [
      'texture',
      { kind: 'texture', zones: ['right-side'], technique: 'slice' },
      { kind: 'texture', zones: ['left-side'], technique: 'slice' },
    ],
  ])('%s', (_what, step, wanted) => {
    // Strictly: nothing left out comes back as undefined.
    expect(mirrored(step)).toStrictEqual(wanted);
    expect(mirrored(wanted)).toStrictEqual(step);
  });

  it('exchanges left and right of an over-direction only', () => {
    const towards = (['back', 'face', 'up', 'down', 'left', 'right'] as const).map((way) => {
      const step = mirrored({
        kind: 'travelling',
        zones: ['top'],
        guide: { kind: 'length', lengthMm: 1 },
        section: 'radial',
        elevationDegrees: 90,
        overDirection: { sections: 1, towards: way },
      });
      return step?.kind === 'travelling' && step.overDirection?.towards;
    });
    expect(towards).toEqual(['back', 'face', 'up', 'down', 'right', 'left']);
  });

  it('mirrors connections and measured lengths where there are any', () => {
    const formula: CutFormula = {
      steps: [],
      connections: [{ between: ['left-side', 'back'], join: 'blended', widthMm: 12 }],
      measuredMm: { 'right-side': 30, top: 70 },
    };
    expect(mirrorFormula(formula)).toStrictEqual({
      steps: [],
      connections: [{ between: ['right-side', 'back'], join: 'blended', widthMm: 12 }],
      measuredMm: { 'left-side': 30, top: 70 },
    });
    expect(mirrorFormula({ steps: [] })).toStrictEqual({ steps: [] });
  });
});
