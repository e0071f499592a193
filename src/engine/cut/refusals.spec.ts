import { describe, expect, it } from '@jest/globals';
import { EngineError } from '../errors.js';
import { ZONES, type Zone } from '../zones.js';
import { checkFormula } from './check.js';
import type { CutFormula, CutStep } from './index.js';

const ALL = [...ZONES];
const fine: CutStep = { kind: 'even', zones: ALL, lengthMm: 50 };
const travelling = (more: object): CutStep =>
  ({
    kind: 'travelling',
    section: 'vertical',
    zones: ['top'],
    elevationDegrees: 60,
    guide: { kind: 'length', lengthMm: 5 },
    ...more,
  }) as CutStep;
const from = (zones: Zone[], guide: Zone): CutStep =>
  travelling({ zones, guide: { kind: 'zone', zone: guide } });
const stationary = (more: object): CutStep =>
  ({ kind: 'stationary', zones: ['top'], anchor: 'apex', lengthMm: 5, shape: 'point', ...more }) as CutStep;
const step = (more: object): CutStep => ({ zones: ['top'], ...more }) as unknown as CutStep;

const check = (formula: unknown, given: readonly Zone[] = []): void => {
  checkFormula(formula as CutFormula, new Set(given));
};
const refusal = (formula: unknown, given?: readonly Zone[]): EngineError => {
  try {
    check(formula, given);
  } catch (error) {
    if (error instanceof EngineError) return error;
    throw error;
  }
  throw new Error('was not refused');
};
const told = ({ code, field, step: number, message }: EngineError): object => ({
  code,
  field,
  step: number,
  message,
});

describe('numbers out of range', () => {
  const anchor = (at: object): object => ({ x: 0, y: 0, z: 0, ...at });

  // field, least, most, how a step bears the value; both bounds are allowed.
  it.each<[string, number, number, (value: number) => CutStep]>([
    ['guide.lengthMm', 0, 2000, (lengthMm) => travelling({ guide: { kind: 'length', lengthMm } })],
    ['elevationDegrees', 0, 180, (elevationDegrees) => travelling({ elevationDegrees })],
    ['fingerAngleDegrees', -75, 75, (fingerAngleDegrees) => travelling({ fingerAngleDegrees })],
    ['stepPerSectionMm', -50, 50, (stepPerSectionMm) => travelling({ stepPerSectionMm })],
    [
      'overDirection.sections',
      0,
      20,
      (sections) => travelling({ overDirection: { sections, towards: 'back' } }),
    ],
    ['lengthMm', 0, 2000, (lengthMm) => stationary({ lengthMm })],
    ['anchor.x', -2000, 2000, (x) => stationary({ anchor: anchor({ x }) })],
    ['anchor.y', -2000, 2000, (y) => stationary({ anchor: anchor({ y }) })],
    ['anchor.z', -2000, 2000, (z) => stationary({ anchor: anchor({ z }) })],
    ['belowMm', -2000, 2000, (belowMm) => step({ kind: 'natural-fall', anchor: 'nape', belowMm })],
    [
      'dropToFaceDegrees',
      -60,
      60,
      (dropToFaceDegrees) => step({ kind: 'natural-fall', anchor: 'nape', dropToFaceDegrees }),
    ],
    [
      'dropToLeftDegrees',
      -60,
      60,
      (dropToLeftDegrees) => step({ kind: 'natural-fall', anchor: 'nape', dropToLeftDegrees }),
    ],
    ['anchor.z', -2000, 2000, (z) => step({ kind: 'natural-fall', anchor: anchor({ z }) })],
    ['lengthMm', 0, 2000, (lengthMm) => step({ kind: 'held-up', anchor: 'apex', lengthMm })],
    ['anchor.z', -2000, 2000, (z) => step({ kind: 'held-up', anchor: anchor({ z }), lengthMm: 5 })],
    ['lengthMm', 0, 2000, (lengthMm) => step({ kind: 'even', lengthMm })],
    ['fromMm', 0, 2000, (fromMm) => step({ kind: 'taper', fromMm, toMm: 5, overMm: 50 })],
    ['toMm', 0, 2000, (toMm) => step({ kind: 'taper', fromMm: 5, toMm, overMm: 50 })],
    ['overMm', 1, 250, (overMm) => step({ kind: 'taper', fromMm: 5, toMm: 9, overMm })],
  ])('%s from %d to %d', (field, min, max, bearing) => {
    for (const value of [min, max, (min + max) / 2]) check({ steps: [fine, bearing(value)] });
    for (const value of [min - 0.01, max + 0.01]) {
      expect(told(refusal({ steps: [fine, bearing(value)] }))).toEqual({
        code: 'ENGINE.OUT_OF_RANGE',
        field,
        step: 2,
        message: `${field} must lie between ${min} and ${max}.`,
      });
    }
    expect(told(refusal({ steps: [bearing(Number.NaN)] }))).toEqual({
      code: 'ENGINE.NOT_A_NUMBER',
      field,
      step: 1,
      message: `${field} must be a finite number.`,
    });
  });

  it('sections that have no depth, or more than 60 mm', () => {
    for (const sectionDepthMm of [0.01, 18, 60]) check({ steps: [travelling({ sectionDepthMm })] });
    for (const sectionDepthMm of [-0.01, 60.01]) {
      expect(told(refusal({ steps: [travelling({ sectionDepthMm })] }))).toEqual({
        code: 'ENGINE.OUT_OF_RANGE',
        field: 'sectionDepthMm',
        step: 1,
        message: 'sectionDepthMm must lie between 0 and 60.',
      });
    }
    expect(told(refusal({ steps: [fine, travelling({ sectionDepthMm: 0 })] }))).toEqual({
      code: 'ENGINE.OUT_OF_RANGE',
      field: 'sectionDepthMm',
      step: 2,
      message: 'The sections of step 2 have no depth: give one over 0 mm.',
    });
  });

  it('a circle that grows with every section', () => {
    check({
      steps: [travelling({ section: 'radial' }), travelling({ section: 'radial', stepPerSectionMm: 0 })],
    });
    for (const stepPerSectionMm of [4, -4]) {
      expect(told(refusal({ steps: [travelling({ section: 'radial', stepPerSectionMm })] }))).toEqual({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'stepPerSectionMm',
        step: 1,
        message: 'Radial sections close a circle, so step 1 cannot grow with every section: set it to 0.',
      });
    }
  });

  it('measured lengths and the width of a blend', () => {
    const measured = (top: number): object => ({ steps: [fine], measuredMm: { top } });
    const wide = (widthMm: number): object => ({
      steps: [fine],
      connections: [{ between: ['top', 'back'], join: 'blended', widthMm }],
    });
    for (const mm of [0, 2000]) check(measured(mm));
    for (const mm of [0, 40]) check(wide(mm));
    for (const mm of [-0.1, 2000.1]) {
      expect(told(refusal(measured(mm)))).toEqual({
        code: 'ENGINE.OUT_OF_RANGE',
        field: 'measuredMm.top',
        step: undefined,
        message: 'measuredMm.top must lie between 0 and 2000.',
      });
    }
    for (const mm of [-0.1, 40.1]) {
      expect(told(refusal(wide(mm)))).toEqual({
        code: 'ENGINE.OUT_OF_RANGE',
        field: 'connections.widthMm',
        step: undefined,
        message: 'connections.widthMm must lie between 0 and 40.',
      });
    }
  });
});

describe('words that mean nothing', () => {
  const SECTIONS = ['horizontal', 'vertical', 'diagonal-forward', 'diagonal-back', 'radial'];
  const TECHNIQUES = ['club', 'point', 'slice', 'scissor-over-comb', 'clipper-over-comb', 'razor'];

  it.each<[string, readonly string[], (word: string) => unknown]>([
    ['section', SECTIONS, (section) => ({ steps: [travelling({ section })] })],
    ['startAt', ['below', 'above'], (startAt) => ({ steps: [travelling({ startAt })] })],
    [
      'overDirection.towards',
      ['back', 'face', 'up', 'down', 'left', 'right'],
      (towards) => ({ steps: [travelling({ overDirection: { sections: 1, towards } })] }),
    ],
    [
      'shape',
      ['point', 'line-front-to-back', 'line-side-to-side', 'plane'],
      (shape) => ({ steps: [stationary({ shape })] }),
    ],
    [
      'held',
      ['out', 'up', 'forward', 'back', 'left', 'right'],
      (held) => ({ steps: [stationary({ held })] }),
    ],
    ['technique', TECHNIQUES, (technique) => ({ steps: [{ ...fine, technique }] })],
    ['technique', TECHNIQUES, (technique) => ({ steps: [step({ kind: 'texture', technique })] })],
  ])('%s: one of %j', (field, words, bearing) => {
    for (const word of words) check(bearing(word));
    expect(told(refusal(bearing('spiral')))).toEqual({
      code: 'ENGINE.IMPOSSIBLE',
      field,
      step: 1,
      message: `${field} must be one of ${words.join(', ')}.`,
    });
  });

  it('how zones are joined', () => {
    const joined = (join: string): object => ({
      steps: [fine],
      connections: [{ between: ['top', 'back'], join }],
    });
    for (const join of ['blended', 'disconnected']) check(joined(join));
    expect(told(refusal(joined('sewn')))).toEqual({
      code: 'ENGINE.IMPOSSIBLE',
      field: 'connections.join',
      step: undefined,
      message: 'connections.join must be one of blended, disconnected.',
    });
  });

  it('texture without a technique', () => {
    expect(refusal({ steps: [step({ kind: 'texture' })] }).field).toBe('technique');
  });

  it('a kind of step', () => {
    expect(told(refusal({ steps: [fine, step({ kind: 'singe' })] }))).toEqual({
      code: 'ENGINE.IMPOSSIBLE',
      field: 'kind',
      step: 2,
      message: 'Step 2 is of an unknown kind.',
    });
  });
});

describe('zones', () => {
  it.each<[string, unknown, number | undefined]>([
    ['zones', { steps: [fine, { ...fine, zones: ['top', 'beard'] }] }, 2],
    ['guide.zone', { steps: [fine, from(['top'], 'beard' as Zone)] }, 2],
    ['measuredMm', { steps: [fine], measuredMm: { beard: 5 } }, undefined],
    [
      'connections.between',
      { steps: [fine], connections: [{ between: ['beard', 'top'], join: 'blended' }] },
      undefined,
    ],
    [
      'connections.between',
      { steps: [fine], connections: [{ between: ['top', 'beard'], join: 'blended' }] },
      undefined,
    ],
  ])('%s names none that the head has', (field, formula, number) => {
    expect(told(refusal(formula))).toEqual({
      code: 'ENGINE.UNKNOWN_ZONE',
      field,
      step: number,
      message: 'beard is not a zone of the head.',
    });
  });

  it('must be named by every step', () => {
    expect(told(refusal({ steps: [fine, { ...fine, zones: [] }] }))).toEqual({
      code: 'ENGINE.IMPOSSIBLE',
      field: 'zones',
      step: 2,
      message: 'Step 2 names no zone: add one.',
    });
  });

  it('cannot be joined to themselves', () => {
    const connections = [{ between: ['top', 'top'], join: 'blended' }];
    expect(told(refusal({ steps: [fine], connections }))).toEqual({
      code: 'ENGINE.IMPOSSIBLE',
      field: 'connections.between',
      step: undefined,
      message: 'top cannot be joined to itself.',
    });
  });
});

describe('guides', () => {
  const late = (number: number, zone: Zone): object => ({
    code: 'ENGINE.IMPOSSIBLE',
    field: 'guide.zone',
    step: number,
    message: `Step ${number} takes its guide from ${zone}, which is not cut yet: cut it first or give a length.`,
  });
  const loop = (number: number, zone: Zone, zones: string): object => ({
    code: 'ENGINE.IMPOSSIBLE',
    field: 'guide.zone',
    step: number,
    message: `The guides run in a loop: step ${number} takes its guide from ${zone}, which takes its own from ${zones}. Give one of them a length.`,
  });

  it('may come from any zone that an earlier step cuts or whose length is known', () => {
    check({ steps: [fine, from(['back'], 'nape')] });
    check({ steps: [from(['back'], 'nape')] }, ['nape']);
    check({ steps: [travelling({ zones: ['nape'] }), from(['back'], 'nape'), from(['crown'], 'back')] });
  });

  it('cannot come from a zone that is cut later, or whose ends were but softened', () => {
    expect(told(refusal({ steps: [from(['back'], 'nape'), fine] }))).toEqual(late(1, 'nape'));
    expect(
      told(
        refusal({
          steps: [step({ kind: 'texture', zones: ['nape'], technique: 'point' }), from(['back'], 'nape')],
        }),
      ),
    ).toEqual(late(2, 'nape'));
    // The nape in turn hangs on the top, which has a length of its own: late, but no loop.
    expect(
      told(
        refusal({ steps: [from(['back'], 'nape'), from(['nape'], 'top'), travelling({ zones: ['top'] })] }),
      ),
    ).toEqual(late(1, 'nape'));
    // Two zones that wait for one another are a loop, but not this step's.
    expect(
      told(refusal({ steps: [from(['back'], 'nape'), from(['nape'], 'top'), from(['top'], 'nape')] })),
    ).toEqual(late(1, 'nape'));
  });

  it('cannot run in a loop', () => {
    expect(told(refusal({ steps: [from(['back'], 'nape'), from(['nape'], 'back'), fine] }))).toEqual(
      loop(1, 'nape', 'back'),
    );
    expect(
      told(refusal({ steps: [from(['back'], 'nape'), from(['nape'], 'top'), from(['top'], 'back')] })),
    ).toEqual(loop(1, 'nape', 'back'));
    // Two guides lead on from the nape: the first to the top, which is at an end, the other back.
    expect(
      told(
        refusal({
          steps: [fine, from(['back', 'crown'], 'back'), from(['nape'], 'top'), from(['nape'], 'back')],
        }),
      ),
    ).toEqual(loop(2, 'back', 'back, crown'));
    expect(
      told(
        refusal({ steps: [from(['back', 'crown'], 'nape'), from(['nape'], 'crown'), from(['nape'], 'top')] }),
      ),
    ).toEqual(loop(1, 'nape', 'back, crown'));
  });
});

it('a formula that leaves out what may be left out is fine', () => {
  check({
    steps: [
      fine,
      travelling({}),
      stationary({}),
      step({ kind: 'natural-fall', anchor: 'brow' }),
      step({ kind: 'held-up', anchor: 'apex', lengthMm: 5 }),
      step({ kind: 'taper', fromMm: 3, toMm: 9, overMm: 40 }),
    ],
    connections: [{ between: ['top', 'back'], join: 'blended' }],
  });
  check({ steps: [] });
});
