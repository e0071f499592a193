import { describe, expect, it } from '@jest/globals';
import { buildHead } from '../head/index.js';
import { buildFallTable } from '../shape/fall.js';
import { ZONES, type Zone } from '../zones.js';
import { type Cut, type CutStep, cutHead } from './index.js';
import { spreadOf } from './technique.js';

const ALL = [...ZONES];
const head = buildHead({ rootCount: 200 });
const fall = buildFallTable(head);
const rootsOf = (zone: Zone): number[] =>
  [...head.roots.zone.keys()].filter((i) => ZONES[head.roots.zone[i]!] === zone);
const even = (zones: readonly Zone[], lengthMm: number): CutStep => ({ kind: 'even', zones, lengthMm });
const others = (...zones: Zone[]): Zone[] => ALL.filter((zone) => !zones.includes(zone));
const cut = (steps: readonly CutStep[], present?: Float64Array): Cut =>
  cutHead(head, fall, { steps }, present);

describe('scatter of the tips', () => {
  // A part of the length up to so many mm: ours, no source.
  it.each([
    ['club', 300, 0],
    ['clipper-over-comb', 10, 0.8],
    ['clipper-over-comb', 20, 1],
    ['scissor-over-comb', 15, 1.5],
    ['scissor-over-comb', 30, 2],
    ['point', 40, 4.8],
    ['point', 80, 6],
    ['razor', 40, 7.2],
    ['razor', 80, 9],
    ['slice', 50, 11],
    ['slice', 100, 14],
    ['slice', 0, 0],
  ] as const)('%s on %d mm: %d', (technique, lengthMm, mm) => {
    expect(spreadOf(technique, lengthMm)).toBeCloseTo(mm, 12);
  });
});

describe('techniques', () => {
  const soft = (zones: readonly Zone[], technique: 'point' | 'razor' | 'slice' | 'club'): CutStep => ({
    kind: 'texture',
    zones,
    technique,
  });
  const scatter = (made: Cut, zone: Zone): number => made.spreadMm[rootsOf(zone)[0]!]!;

  it('scatter by the length they leave, the widest counts', () => {
    // point: 12 % up to 6 mm; razor 18 % up to 9; slice 22 % up to 14.
    const made = cut([
      { ...even(['top'], 30), technique: 'point' },
      { ...even(['crown'], 80), technique: 'razor' },
      even(others('top', 'crown'), 40),
      soft(['back'], 'slice'),
      soft(['back'], 'point'),
      soft(['nape'], 'point'),
      soft(['nape'], 'slice'),
      soft(['fringe'], 'club'),
    ]);
    expect(scatter(made, 'top')).toBeCloseTo(3.6, 5);
    expect(scatter(made, 'crown')).toBeCloseTo(9, 5);
    expect(scatter(made, 'back')).toBeCloseTo(8.8, 5);
    expect(scatter(made, 'nape')).toBeCloseTo(8.8, 5);
    expect(scatter(made, 'fringe')).toBe(0);
    expect(scatter(made, 'left-side')).toBe(0);
    for (const i of rootsOf('top')) expect(made.spreadMm[i]).toBeCloseTo(3.6, 5);
  });

  it('go by the present hair where nothing was cut, and by none where none is known', () => {
    const present = new Float64Array(head.roots.count).fill(25);
    expect(scatter(cut([soft(['top'], 'point')], present), 'top')).toBeCloseTo(3, 5);
    expect(scatter(cut([soft(['top'], 'point'), even(ALL, 25)]), 'top')).toBe(0);
  });
});
