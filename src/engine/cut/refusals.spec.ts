import { describe, expect, it } from '@jest/globals';
import { EngineError } from '../errors.js';
import { buildHead } from '../head/index.js';
import { buildFallTable } from '../shape/fall.js';
import { ZONES, type Zone } from '../zones.js';
import { type CutFormula, type CutStep, cutHead, type TravellingStep } from './index.js';

const ALL = [...ZONES];
const head = buildHead({ rootCount: 500 });
const fall = buildFallTable(head);
const even = (zones: readonly Zone[], lengthMm: number): CutStep => ({ kind: 'even', zones, lengthMm });
const TRAVELLING: TravellingStep = {
  kind: 'travelling',
  section: 'vertical',
  zones: ['top'],
  elevationDegrees: 60,
  guide: { kind: 'length', lengthMm: 5 },
};

describe('what cannot be cut', () => {
  const refusal = (formula: unknown, present?: Float32Array): EngineError => {
    try {
      cutHead(head, fall, formula as CutFormula, present);
    } catch (error) {
      if (error instanceof EngineError) return error;
      throw error;
    }
    throw new Error('was not refused');
  };
  const fine = even(ALL, 50);
  const from = (zones: Zone[], guide: Zone): CutStep => ({
    ...TRAVELLING,
    zones,
    guide: { kind: 'zone', zone: guide },
  });

  it.each<[string, unknown, string, string, number | undefined]>([
    ['a length below 0', [fine, even(['top'], -1)], 'ENGINE.OUT_OF_RANGE', 'lengthMm', 2],
    ['a length that is no number', [even(['top'], Number.NaN)], 'ENGINE.NOT_A_NUMBER', 'lengthMm', 1],
    [
      'a guide length below 0',
      [{ ...TRAVELLING, guide: { kind: 'length', lengthMm: -5 } }],
      'ENGINE.OUT_OF_RANGE',
      'guide.lengthMm',
      1,
    ],
    ['no section depth', [{ ...TRAVELLING, sectionDepthMm: 0 }], 'ENGINE.OUT_OF_RANGE', 'sectionDepthMm', 1],
    [
      'an elevation of 200',
      [{ ...TRAVELLING, elevationDegrees: 200 }],
      'ENGINE.OUT_OF_RANGE',
      'elevationDegrees',
      1,
    ],
    ['an unknown zone', [fine, { ...fine, zones: ['moustache'] }], 'ENGINE.UNKNOWN_ZONE', 'zones', 2],
    ['no zone', [{ ...fine, zones: [] }], 'ENGINE.IMPOSSIBLE', 'zones', 1],
    ['an unknown kind', [{ kind: 'singe', zones: ['top'] }], 'ENGINE.IMPOSSIBLE', 'kind', 1],
    [
      'an unknown section',
      [{ ...TRAVELLING, section: 'spiral' as 'radial' }],
      'ENGINE.IMPOSSIBLE',
      'section',
      1,
    ],
    [
      'a growing circle',
      [{ ...TRAVELLING, section: 'radial', stepPerSectionMm: 4 }],
      'ENGINE.IMPOSSIBLE',
      'stepPerSectionMm',
      1,
    ],
    [
      'a guide inside the head',
      [{ kind: 'stationary', zones: ['top'], anchor: { x: 0, y: 0, z: 40 }, lengthMm: 5, shape: 'point' }],
      'ENGINE.IMPOSSIBLE',
      'anchor',
      1,
    ],
    [
      'a guide held through the head',
      [{ kind: 'stationary', zones: ['top'], anchor: 'brow', lengthMm: 60, held: 'back', shape: 'point' }],
      'ENGINE.IMPOSSIBLE',
      'anchor',
      1,
    ],
    [
      'a line through the head',
      [{ kind: 'stationary', zones: ALL, anchor: 'occipital', lengthMm: 20, shape: 'line-front-to-back' }],
      'ENGINE.IMPOSSIBLE',
      'anchor',
      1,
    ],
    [
      'an unknown landmark',
      [{ kind: 'held-up', zones: ['top'], anchor: 'toString', lengthMm: 20 }],
      'ENGINE.IMPOSSIBLE',
      'anchor',
      1,
    ],
    [
      'a loop of two guides',
      [from(['back'], 'nape'), from(['nape'], 'back'), fine],
      'ENGINE.IMPOSSIBLE',
      'guide.zone',
      1,
    ],
    [
      'a loop of three',
      [from(['back'], 'nape'), from(['nape'], 'top'), from(['top'], 'back')],
      'ENGINE.IMPOSSIBLE',
      'guide.zone',
      1,
    ],
    ['a zone as its own guide', [fine, from(['back', 'nape'], 'nape')], 'ENGINE.IMPOSSIBLE', 'guide.zone', 2],
    ['a guide not cut yet', [from(['back'], 'nape'), fine], 'ENGINE.IMPOSSIBLE', 'guide.zone', 1],
    ['zones nobody cuts', [even(['top'], 50)], 'ENGINE.IMPOSSIBLE', 'steps', undefined],
  ])('%s', (_what, steps, code, field, step) => {
    const error = refusal({ steps });
    expect({ code: error.code, field: error.field, step: error.step }).toEqual({ code, field, step });
  });

  it('tells a loop from a guide that only comes too late', () => {
    expect(refusal({ steps: [from(['back'], 'nape'), from(['nape'], 'back')] }).message).toContain('loop');
    expect(refusal({ steps: [from(['back'], 'nape'), even(['nape'], 5)] }).message).toContain('not cut yet');
  });

  it('impossible measured lengths, connections and present hair', () => {
    expect(refusal({ steps: [fine], measuredMm: { top: -2 } }).field).toBe('measuredMm.top');
    expect(refusal({ steps: [fine], measuredMm: { beard: 2 } }).code).toBe('ENGINE.UNKNOWN_ZONE');
    expect(
      refusal({ steps: [fine], connections: [{ between: ['top', 'top'], join: 'blended' }] }).field,
    ).toBe('connections.between');
    expect(
      refusal({ steps: [fine], connections: [{ between: ['top', 'back'], join: 'blended', widthMm: 90 }] })
        .field,
    ).toBe('connections.widthMm');
    expect(refusal({ steps: [fine] }, new Float32Array(3)).code).toBe('ENGINE.OUT_OF_RANGE');
    expect(refusal({ steps: [fine] }, new Float32Array(head.roots.count).fill(Number.NaN)).code).toBe(
      'ENGINE.NOT_A_NUMBER',
    );
  });
});
