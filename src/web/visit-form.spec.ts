import { describe, expect, it } from '@jest/globals';
import { DomainError } from '../base/index.js';
import type { FormulaInput, WholeFormula } from '../cuts/index.js';
import type { Service } from '../salon/index.js';
import type { Ruler } from './lengths.js';
import { firstValues, readVisit, zonesInOrder } from './visit-form.js';
import { withNewLimit } from './visit-limits.js';
import {
  keyOfCutStep,
  stepKeys,
  stepValues,
  type Values,
  withNewStep,
  withoutStep,
  withStepMoved,
} from './visit-steps.js';

const ruler: Ruler = { units: 'cm', fingerWidthMm: 18 };
const service = (kind: Service['kind'], zones: Service['zones'] = []): Service =>
  ({ id: 's', kind, zones, priceMinor: 5200 }) as unknown as Service;

const step = (zone: string, over: object = {}) => ({
  zone,
  method: 'travelling-guide',
  section: 'vertical',
  elevationDeg: 90,
  guide: 'travelling',
  guideAt: null,
  overDirectedTo: null,
  overDirectedSections: 0,
  fingerAngleDeg: 0,
  lengthAtGuideMm: 40,
  endLengthMm: null,
  sectionDepthMm: 12,
  stepPerSectionMm: 3,
  technique: 'club',
  tool: null,
  leftToGrow: false,
  notes: '',
  ...over,
});

const source = {
  formula: { id: 'f', name: 'Layered crop', notes: '' },
  steps: [
    step('nape', { method: 'clipper-guard', technique: 'clipper-over-comb' }),
    step('top'),
    step('nape'),
  ],
  lengths: [
    { zone: 'nape', leftMm: 12, leftSdMm: 3, wantedMm: 12 },
    { zone: 'top', leftMm: 70, leftSdMm: 3, wantedMm: 64 },
  ],
  links: [{ zone: 'nape', neighbour: 'back', kind: 'blended' }],
  limits: [
    { zone: 'nape', kind: 'grown-by', value: 12.3, against: null, by: null, landmark: null, sd: 2.1 },
    { zone: 'top', kind: 'longer-than', value: 90, against: null, by: null, landmark: null, sd: null },
  ],
} as unknown as WholeFormula;

type Read = {
  marks: object[];
  formula?: FormulaInput;
  measurements: object[];
  priceMinor: number;
  basedOnId?: string;
};
const read = (values: Values, from: WholeFormula | undefined, kind: Service) =>
  readVisit(values, from, kind, ruler, 'GBP').input as Read;

function refusal(work: () => unknown): DomainError {
  try {
    work();
  } catch (error) {
    if (error instanceof DomainError) return error;
  }
  throw new Error('It was not refused.');
}

describe('the form of a visit', () => {
  it('sent back unchanged after a full cut records the copied formula at its wanted lengths', () => {
    const values = firstValues(source, service('full-cut'), ruler, 'GBP');
    const { formula, measurements, priceMinor, basedOnId } = read(values, source, service('full-cut'));
    expect(formula?.lengths).toEqual([
      { zone: 'top', leftMm: 64, cut: true },
      { zone: 'nape', leftMm: 12, cut: true },
    ]);
    expect(formula?.steps.map(({ zone }) => zone)).toEqual(['nape', 'top', 'nape']);
    expect(formula?.steps[1]).toMatchObject({ elevationDeg: 90, sectionDepthMm: 12, stepPerSectionMm: 3 });
    expect(formula?.links).toEqual([{ zone: 'nape', neighbour: 'back', kind: 'blended' }]);
    expect(measurements).toEqual([]);
    expect(priceMinor).toBe(5200);
    expect(basedOnId).toBe('f');
  });

  it('keeps a copied limit with what was learned of it, and takes a changed, a cleared and a new one', () => {
    const first = firstValues(source, service('full-cut'), ruler, 'GBP');
    const kept = read(first, source, service('full-cut')).formula?.limits;
    expect(kept).toEqual([
      expect.objectContaining({ zone: 'nape', kind: 'grown-by', value: 12.3, sd: 2.1 }),
      expect.objectContaining({ zone: 'top', kind: 'longer-than', value: 90, sd: null }),
    ]);
    const values = {
      ...withNewLimit(first, ruler),
      'limit.l1.value': '1.5',
      'limit.l2.value': '',
      'limit.m1.zone': 'nape',
      'limit.m1.ends': 'contrast:ratio',
      'limit.m1.against': 'top',
      'limit.m1.value': '2,5',
    };
    const none = { against: null, by: null, landmark: null };
    expect(read(values, source, service('full-cut')).formula?.limits).toEqual([
      { ...none, zone: 'nape', kind: 'grown-by', value: 15 },
      { ...none, zone: 'nape', kind: 'contrast', against: 'top', by: 'ratio', value: 2.5 },
    ]);
  });

  it('records lengths exactly as they were stored where their boxes were not touched', () => {
    const rounded = {
      ...source,
      lengths: [{ zone: 'nape', leftMm: 12.4, leftSdMm: 3, wantedMm: 12.4 }],
      steps: [step('nape', { lengthAtGuideMm: 41.7, stepPerSectionMm: -2.6 })],
      limits: [],
    } as unknown as WholeFormula;
    const values = firstValues(rounded, service('full-cut'), ruler, 'GBP');
    expect(values['left.nape']).toBe('1.2');
    const { formula } = read(values, rounded, service('full-cut'));
    expect(formula?.lengths[0]?.leftMm).toBe(12.4);
    expect(formula?.steps[0]).toMatchObject({ lengthAtGuideMm: 41.7, stepPerSectionMm: -2.6 });
  });

  it('keeps where the cutting line runs for as long as zone and method stay', () => {
    const placed = {
      ...source,
      steps: [step('nape', { geometry: { anchor: 'nape', belowMm: 5 } }), step('top')],
    } as unknown as WholeFormula;
    const values = firstValues(placed, service('full-cut'), ruler, 'GBP');
    const geometry = (changed: object) =>
      read({ ...values, ...changed }, placed, service('full-cut')).formula?.steps[0]?.geometry;
    expect(geometry({})).toEqual({ anchor: 'nape', belowMm: 5 });
    expect(geometry({ 'step.s1.elevationDeg': '10' })).toEqual({ anchor: 'nape', belowMm: 5 });
    expect(geometry({ 'step.s1.method': 'taper' })).toBeNull();
    expect(geometry({ 'step.s1.guideZone': 'top' })).toEqual({
      anchor: 'nape',
      belowMm: 5,
      guideZone: 'top',
    });
  });

  it('reads what the stylist saw of each zone', () => {
    const values = {
      ...firstValues(source, service('full-cut'), ruler, 'GBP'),
      'held.nape': 'just-gone',
      'held.top': 'still-holding',
    };
    const { marks } = readVisit(values, source, service('full-cut'), ruler, 'GBP').input as Read;
    expect(marks).toEqual([
      { zone: 'top', state: 'still-holding' },
      { zone: 'nape', state: 'just-gone' },
    ]);
  });

  it('leaves the zones alone that a tidy does not cut', () => {
    const tidy = service('tidy', ['nape']);
    const { formula } = read(firstValues(source, tidy, ruler, 'GBP'), source, tidy);
    expect(formula?.lengths).toEqual([
      { zone: 'top', leftMm: 70, wantedMm: 64, cut: false },
      { zone: 'nape', leftMm: 12, cut: true },
    ]);
  });

  it('records no formula where nothing was cut', () => {
    const colour = service('colour');
    const values = { ...firstValues(source, colour, ruler, 'GBP'), 'arrival.nape': '1,9' };
    const input = read(values, source, colour);
    expect(input.formula).toBeUndefined();
    expect(input.measurements).toEqual([{ zone: 'nape', lengthMm: 19, tool: 'hand' }]);
  });

  it('starts a first formula from the boxes that were filled', () => {
    const values = {
      ...firstValues(undefined, service('full-cut'), ruler, 'GBP'),
      formulaName: 'Pixie',
      'left.fringe': '4',
      ...stepValues('n1', undefined, ruler),
      'step.n1.zone': 'fringe',
      'step.n1.section': 'horizontal',
    };
    const { formula } = read(values, undefined, service('full-cut'));
    expect(formula?.lengths).toEqual([{ zone: 'fringe', leftMm: 40, cut: true }]);
    expect(formula?.steps).toHaveLength(1);
    expect(formula?.steps[0]).toMatchObject({ zone: 'fringe', section: 'horizontal', guide: 'travelling' });
  });

  it('takes steps in the order of the form: moved, added and removed', () => {
    const values = firstValues(source, service('full-cut'), ruler, 'GBP');
    const zones = (changed: Values) =>
      read(changed, source, service('full-cut')).formula?.steps.map(({ zone }) => zone);
    expect(zones(withStepMoved(values, 's2', -1))).toEqual(['top', 'nape', 'nape']);
    expect(zones(withStepMoved(values, 's2', 1))).toEqual(['nape', 'nape', 'top']);
    expect(withStepMoved(values, 's1', -1)).toBe(values);
    expect(zones(withoutStep(values, 's1'))).toEqual(['top', 'nape']);
    const added = { ...withNewStep(values, ruler), 'step.n1.zone': 'crown' };
    expect(zones(withStepMoved(added, 'n1', -1))).toEqual(['nape', 'top', 'crown', 'nape']);
    expect(stepKeys(withNewStep(added, ruler))).toEqual(['s1', 's2', 's3', 'n1', 'n2']);
  });

  it('asks for the zone of a step that says how but not where, and passes over a blank one', () => {
    const values = withNewStep(firstValues(source, service('full-cut'), ruler, 'GBP'), ruler);
    expect(read(values, source, service('full-cut')).formula?.steps).toHaveLength(3);
    const half = { ...values, 'step.n1.section': 'vertical' };
    expect(refusal(() => read(half, source, service('full-cut'))).fields[0]?.field).toBe('step.n1.zone');
  });

  it('counts steps as the engine does, which passes over zones left to grow', () => {
    const values = { ...firstValues(source, service('full-cut'), ruler, 'GBP'), 'done.nape': 'grow' };
    const { steps } = readVisit(values, source, service('full-cut'), ruler, 'GBP');
    expect(keyOfCutStep(steps, 1)).toBe('s2');
    expect(keyOfCutStep(steps, 2)).toBeUndefined();
  });

  it('tells everything that cannot be read at once, by the boxes’ names', () => {
    const values = {
      ...firstValues(source, service('full-cut'), ruler, 'GBP'),
      'arrival.top': '-1',
      'left.nape': '300',
      'step.s1.elevationDeg': '181',
      'limit.l1.value': 'soon',
      price: 'much',
      formulaName: '  ',
    };
    const { fields } = refusal(() => read(values, source, service('full-cut')));
    expect(fields.map(({ field }) => field).sort()).toEqual([
      'arrival.top',
      'formulaName',
      'left.nape',
      'limit.l1.value',
      'price',
      'step.s1.elevationDeg',
    ]);
  });

  it('asks for the length of a known zone that was cut', () => {
    const values = { ...firstValues(source, service('full-cut'), ruler, 'GBP'), 'left.nape': '' };
    expect(refusal(() => read(values, source, service('full-cut'))).fields[0]?.field).toBe('left.nape');
  });

  it('names the form’s boxes for what the service refuses', () => {
    const values = withStepMoved(
      { ...firstValues(source, service('full-cut'), ruler, 'GBP'), 'arrival.nape': '2' },
      's2',
      -1,
    );
    const { rename } = readVisit(values, source, service('full-cut'), ruler, 'GBP');
    expect(rename('measurements.0.lengthMm')).toBe('arrival.nape');
    expect(rename('formula.lengths.0.leftMm')).toBe('left.top');
    expect(rename('formula.lengths.1.wantedMm')).toBe('wanted.nape');
    expect(rename('formula.steps.0.elevationDeg')).toBe('step.s2.elevationDeg');
    expect(rename('formula.steps.1.lengthAtGuideMm')).toBe('step.s1.lengthAtGuide');
    expect(rename('formula.limits.1.value')).toBe('limit.l2.value');
    expect(rename('priceMinor')).toBe('price');
    expect(rename('visitOn')).toBe('visitOn');
  });

  it('lists zones as the formula cuts them, then those it leaves out', () => {
    expect(zonesInOrder(source)).toEqual([
      'nape',
      'top',
      'fringe',
      'crown',
      'left-side',
      'right-side',
      'back',
    ]);
  });
});
