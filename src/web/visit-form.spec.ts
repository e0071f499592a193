import { describe, expect, it } from '@jest/globals';
import { DomainError } from '../base/index.js';
import type { FormulaInput, WholeFormula } from '../cuts/index.js';
import type { Service } from '../salon/index.js';
import type { Ruler } from './lengths.js';
import { firstValues, readVisit, zonesInOrder } from './visit-form.js';

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
    { zone: 'nape', kind: 'grown-by', value: 12, against: null, by: null, landmark: null },
    { zone: 'top', kind: 'longer-than', value: 90, against: null, by: null, landmark: null },
  ],
} as unknown as WholeFormula;

type Read = { formula?: FormulaInput; measurements: object[]; priceMinor: number; basedOnId?: string };
const read = (values: Record<string, string>, from: WholeFormula | undefined, kind: Service) =>
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

  it('keeps limits of other kinds and takes the typed growth', () => {
    const values = { ...firstValues(source, service('full-cut'), ruler, 'GBP'), 'limit.nape': '1.5' };
    const { formula } = read(values, source, service('full-cut'));
    expect(formula?.limits).toEqual([
      expect.objectContaining({ zone: 'top', kind: 'longer-than', value: 90 }),
      { zone: 'nape', kind: 'grown-by', value: 15 },
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
      'step.fringe.section': 'horizontal',
    };
    const { formula } = read(values, undefined, service('full-cut'));
    expect(formula?.lengths).toEqual([{ zone: 'fringe', leftMm: 40, cut: true }]);
    expect(formula?.steps).toHaveLength(1);
    expect(formula?.steps[0]).toMatchObject({ zone: 'fringe', section: 'horizontal', guide: 'travelling' });
  });

  it('takes steps in the order that was typed', () => {
    const values = {
      ...firstValues(source, service('full-cut'), ruler, 'GBP'),
      'step.s2.place': '1',
      'step.s1.place': '2',
    };
    const { formula } = read(values, source, service('full-cut'));
    expect(formula?.steps.map(({ zone }) => zone)).toEqual(['top', 'nape', 'nape']);
  });

  it('tells everything that cannot be read at once, by the boxes’ names', () => {
    const values = {
      ...firstValues(source, service('full-cut'), ruler, 'GBP'),
      'arrival.top': '-1',
      'left.nape': '300',
      'step.s1.elevationDeg': '181',
      'limit.nape': 'soon',
      price: 'much',
      formulaName: '  ',
    };
    const { fields } = refusal(() => read(values, source, service('full-cut')));
    expect(fields.map(({ field }) => field).sort()).toEqual([
      'arrival.top',
      'formulaName',
      'left.nape',
      'limit.nape',
      'price',
      'step.s1.elevationDeg',
    ]);
  });

  it('asks for the length of a known zone that was cut', () => {
    const values = { ...firstValues(source, service('full-cut'), ruler, 'GBP'), 'left.nape': '' };
    expect(refusal(() => read(values, source, service('full-cut'))).fields[0]?.field).toBe('left.nape');
  });

  it('names the form’s boxes for what the service refuses', () => {
    const values = {
      ...firstValues(source, service('full-cut'), ruler, 'GBP'),
      'arrival.nape': '2',
      'step.s2.place': '1',
    };
    const { rename } = readVisit(values, source, service('full-cut'), ruler, 'GBP');
    expect(rename('measurements.0.lengthMm')).toBe('arrival.nape');
    expect(rename('formula.lengths.0.leftMm')).toBe('left.top');
    expect(rename('formula.lengths.1.wantedMm')).toBe('wanted.nape');
    expect(rename('formula.steps.0.elevationDeg')).toBe('step.s1.elevationDeg');
    expect(rename('formula.steps.1.tool')).toBe('step.s2.tool');
    expect(rename('formula.limits.0.value')).toBe('limit.top');
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
