import { describe, expect, it } from '@jest/globals';
import { buildHead } from '../head/index.js';
import { buildFallTable, pointAlong } from '../shape/fall.js';
import { ZONES, type Zone } from '../zones.js';
import { type Cut, type CutFormula, type CutStep, cutHead, type TravellingStep } from './index.js';

const ALL = [...ZONES];
const head = buildHead({ rootCount: 900 });
const fall = buildFallTable(head);
const position = head.roots.position;
const zoneOf = (i: number): Zone => ZONES[head.roots.zone[i]!]!;
const rootsOf = (zone: Zone): number[] => [...head.roots.zone.keys()].filter((i) => zoneOf(i) === zone);
const mean = (of: readonly number[]): number => of.reduce((sum, value) => sum + value, 0) / of.length;

const travelling = (
  zones: readonly Zone[],
  lengthMm: number,
  more: Partial<TravellingStep> = {},
): CutStep => ({
  kind: 'travelling',
  zones,
  guide: { kind: 'length', lengthMm },
  section: 'horizontal',
  elevationDegrees: 90,
  ...more,
});
const even = (zones: readonly Zone[], lengthMm: number): CutStep => ({ kind: 'even', zones, lengthMm });
const others = (...zones: Zone[]): Zone[] => ALL.filter((zone) => !zones.includes(zone));
const cut = (steps: readonly CutStep[], more: Partial<CutFormula> = {}): Cut =>
  cutHead(head, fall, { steps, ...more });
const zone = (of: Cut, name: Zone): Cut['zones'][number] => of.zones.find((entry) => entry.zone === name)!;
const apart = (...between: [Zone, Zone][]): Pick<CutFormula, 'connections'> => ({
  connections: between.map((pair) => ({ between: pair, join: 'disconnected' })),
});

// Trade facts below are common practice, no source.
describe('what the trade knows', () => {
  /** How much longer the back is at the top than at the nape, cut at one elevation from a guide of 60. */
  const stack = (more: Partial<TravellingStep>): number => {
    const made = cut([travelling(['nape', 'back'], 60, more), even(others('nape', 'back'), 400)]);
    const middle = rootsOf('back').filter((i) => Math.abs(position[3 * i]!) < 25);
    const high = middle.filter((i) => position[3 * i + 2]! > 30);
    const low = rootsOf('nape').filter((i) => Math.abs(position[3 * i]!) < 15 && position[3 * i + 2]! < -92);
    return mean(high.map((i) => made.lengthMm[i]!)) - mean(low.map((i) => made.lengthMm[i]!));
  };

  it('horizontal sections build weight, vertical ones take it away, diagonal ones lie between', () => {
    const horizontal = stack({ elevationDegrees: 45 });
    const vertical = stack({ elevationDegrees: 45, section: 'vertical' });
    const forward = stack({ elevationDegrees: 45, section: 'diagonal-forward' });
    const back = stack({ elevationDegrees: 45, section: 'diagonal-back' });
    expect(vertical).toBeCloseTo(0, 6);
    expect(Math.min(forward, horizontal)).toBe(forward);
    expect(forward).toBeGreaterThan(vertical);
    // Up the midline of the back nothing is gained sideways yet: cos 45 of the horizontal rise.
    expect(forward / horizontal).toBeGreaterThan(0.68);
    expect(forward / horizontal).toBeLessThan(0.85);
    expect(back).toBeGreaterThan(vertical);
  });

  it('in natural fall all ends lie in one line, whatever the sections', () => {
    const horizontal = stack({ elevationDegrees: 0 });
    expect(stack({ elevationDegrees: 0, section: 'vertical' })).toBeCloseTo(horizontal, 6);
    expect(stack({ elevationDegrees: 20, section: 'vertical' })).toBeLessThan(0.7 * horizontal);
  });

  it('diagonal forward leaves the hair longer towards the face, diagonal back towards the back', () => {
    const slope = (section: TravellingStep['section']): number => {
      const made = cut([
        travelling(['left-side'], 60, { section, elevationDegrees: 30 }),
        even(others('left-side'), 400),
      ]);
      const low = rootsOf('left-side').filter((i) => position[3 * i + 2]! < 15);
      const near = (front: boolean): number[] => low.filter((i) => position[3 * i + 1]! > 25 === front);
      return mean(near(true).map((i) => made.lengthMm[i]!)) - mean(near(false).map((i) => made.lengthMm[i]!));
    };
    expect(slope('diagonal-forward')).toBeGreaterThan(slope('horizontal') + 10);
    expect(slope('diagonal-back')).toBeLessThan(slope('horizontal') - 10);
  });

  it('low elevation stacks, 90 layers evenly, above 90 the hair grows longer downwards', () => {
    const rises = [0, 30, 45, 60, 75, 90, 120, 150].map((elevationDegrees) =>
      stack({ elevationDegrees, guide: { kind: 'length', lengthMm: 200 } }),
    );
    for (let i = 1; i < rises.length; i++) expect(rises[i]!).toBeLessThan(rises[i - 1]!);
    expect(rises[5]).toBeCloseTo(0, 6);
  });

  it('over-directing to the back leaves length at the face, and more with every section', () => {
    const sides = (sections: number): Cut =>
      cut([
        travelling(['left-side', 'right-side'], 60, {
          section: 'vertical',
          overDirection: { sections, towards: 'back' },
        }),
        even(others('left-side', 'right-side'), 400),
      ]);
    const one = sides(1);
    const two = sides(2);
    expect(zone(one, 'left-side').minMm).toBeLessThan(61);
    const longest = rootsOf('left-side').reduce((a, b) => (one.lengthMm[a]! > one.lengthMm[b]! ? a : b));
    const foremost = rootsOf('left-side').reduce((a, b) =>
      position[3 * a + 1]! > position[3 * b + 1]! ? a : b,
    );
    expect(Math.abs(position[3 * longest + 1]! - position[3 * foremost + 1]!)).toBeLessThan(8);
    expect(one.lengthMm[longest]!).toBeGreaterThan(75);
    expect(two.lengthMm[longest]!).toBeGreaterThan(one.lengthMm[longest]! + 10);
  });

  it('a disconnection stays one; blended zones meet', () => {
    const steps = [even(['nape'], 6), even(others('nape'), 60)];
    const facing = rootsOf('back').filter((i) =>
      rootsOf('nape').some(
        (j) => Math.hypot(...[0, 1, 2].map((k) => position[3 * i + k]! - position[3 * j + k]!)) < 8,
      ),
    );
    const undercut = cut(steps, apart(['nape', 'back']));
    const blended = cut(steps);
    for (const i of facing) {
      expect(undercut.lengthMm[i]).toBe(60);
      expect(blended.lengthMm[i]!).toBeLessThan(30);
    }
    // Only the longer side is cut.
    for (const i of rootsOf('nape')) expect(blended.lengthMm[i]).toBe(6);
  });

  it('point cutting and slicing soften the line and leave the lengths', () => {
    const club = cut([even(ALL, 80)]);
    const soft = cut([even(ALL, 80), { kind: 'texture', zones: ['top'], technique: 'point' }]);
    const sliced = cut([{ ...even(ALL, 80), technique: 'slice' }]);
    const top = rootsOf('top')[0]!;
    expect(soft.lengthMm).toEqual(club.lengthMm);
    expect(sliced.lengthMm).toEqual(club.lengthMm);
    expect(club.spreadMm.every((mm) => mm === 0)).toBe(true);
    expect(soft.spreadMm[top]!).toBeGreaterThan(0);
    expect(soft.spreadMm[rootsOf('nape')[0]!]).toBe(0);
    expect(sliced.spreadMm[top]!).toBeGreaterThan(soft.spreadMm[top]!);
  });

  it('radial sections from a crown guide at 90 degrees leave one length round the crown', () => {
    const made = cut([
      travelling(['crown'], 70, { section: 'radial', startAt: 'above' }),
      even(others('crown'), 70),
    ]);
    expect(zone(made, 'crown').minMm).toBeCloseTo(70, 4);
    expect(zone(made, 'crown').maxMm).toBeCloseTo(70, 4);
  });

  it('a guide from above lets the hair get shorter downwards when it hangs, longer when it is lifted over', () => {
    const made = (elevationDegrees: number): Cut =>
      cut([travelling(['back'], 150, { startAt: 'above', elevationDegrees }), even(others('back'), 400)]);
    expect(zone(made(45), 'back').meanMm).toBeLessThan(140);
    expect(zone(made(90), 'back').meanMm).toBeCloseTo(150, 6);
    expect(zone(made(135), 'back').meanMm).toBeGreaterThan(160);
    expect(zone(made(45), 'back').guideMm).toBeGreaterThan(144);
  });
});

describe('steps that are no guides', () => {
  it('natural fall: every tip that reaches the line ends on it', () => {
    const made = cut(
      [{ kind: 'natural-fall', zones: ALL, anchor: 'nape', belowMm: 20, dropToFaceDegrees: 10 }],
      {
        ...apart(...ALL.flatMap((a) => ALL.map((b) => [a, b] as [Zone, Zone])).filter(([a, b]) => a < b)),
      },
    );
    const tip = new Float64Array(3);
    const slope = Math.tan((10 * Math.PI) / 180);
    for (let i = 0; i < head.roots.count; i++) {
      pointAlong(fall, i, made.lengthMm[i]!, tip);
      expect(tip[2]! + 120 + slope * (tip[1]! - head.landmarks.nape.y)).toBeCloseTo(0, 2);
    }
    expect(made.clamped).toEqual([]);
  });

  it('taper: from one length at the hairline to another, then as it was', () => {
    const made = cut(
      [even(ALL, 40), { kind: 'taper', zones: ['nape', 'back'], fromMm: 3, toMm: 25, overMm: 40 }],
      {
        ...apart(
          ['back', 'crown'],
          ['back', 'left-side'],
          ['back', 'right-side'],
          ['back', 'top'],
          ['nape', 'left-side'],
          ['nape', 'right-side'],
          ['nape', 'back'],
        ),
      },
    );
    for (const i of [...rootsOf('nape'), ...rootsOf('back')]) {
      const az = (Math.atan2(position[3 * i]!, position[3 * i + 1]!) * 180) / Math.PI;
      const up = position[3 * i + 2]! - head.hairlineZ(az);
      const wanted = up < 40 ? 3 + (22 * up) / 40 : 40;
      expect(made.lengthMm[i]!).toBeCloseTo(wanted, 3);
    }
  });

  it('a level below the roots leaves nothing there and says so', () => {
    const made = cut([
      { kind: 'held-up', zones: ['top', 'back'], anchor: 'occipital', lengthMm: 40 },
      even(others('top', 'back'), 50),
    ]);
    expect(made.clamped).toContainEqual({ zone: 'top', step: 1, share: 1 });
    expect(zone(made, 'top').maxMm).toBe(0);
  });
});

describe('lengths that are known', () => {
  const steps = [
    travelling(['nape', 'back'], 30, { elevationDegrees: 45 }),
    travelling(['left-side', 'right-side'], 50, { elevationDegrees: 60 }),
    even(['top', 'crown'], 90),
    { kind: 'natural-fall', zones: ['fringe'], anchor: 'brow' } as const,
  ];

  it('a measured length wins and the difference to the derived one is told', () => {
    const derived = cut(steps);
    const fitted = cut(steps, { measuredMm: { 'left-side': 58, nape: 24 } });
    const left = zone(fitted, 'left-side');
    expect(left.guideMm).toBeCloseTo(58, 3);
    expect(left.derivedGuideMm!).toBeCloseTo(50, 0);
    expect(left.measuredMinusDerivedMm!).toBeCloseTo(58 - left.derivedGuideMm!, 6);
    expect(zone(fitted, 'nape').guideMm).toBeCloseTo(24, 3);
    expect(zone(fitted, 'nape').measuredMinusDerivedMm!).toBeCloseTo(-6, 0);
    expect(zone(fitted, 'right-side')).toEqual(zone(derived, 'right-side'));
    expect(zone(derived, 'left-side').measuredMinusDerivedMm).toBeUndefined();
  });

  it('a zone without a step has its measured length all over', () => {
    const made = cut(steps.slice(0, 3), {
      measuredMm: { fringe: 65 },
      ...apart(['fringe', 'left-side'], ['fringe', 'right-side'], ['fringe', 'top']),
    });
    expect(zone(made, 'fringe').minMm).toBe(65);
    expect(zone(made, 'fringe').maxMm).toBe(65);
    expect(zone(made, 'fringe').derivedGuideMm).toBeUndefined();
  });

  it('hair is taken off and never put back', () => {
    const present = new Float32Array(head.roots.count).fill(45);
    const made = cutHead(head, fall, { steps }, present);
    const free = cut(steps);
    for (let i = 0; i < head.roots.count; i++) {
      expect(made.lengthMm[i]).toBe(Math.min(45, free.lengthMm[i]!));
    }
    expect(zone(made, 'top').missingMm).toBeCloseTo(45, 4);
    expect(zone(free, 'top').missingMm).toBe(0);
  });

  it('a later step only shortens', () => {
    const once = cut([even(ALL, 60)]);
    const twice = cut([even(ALL, 60), even(['top'], 200), even(['nape'], 12)], apart(['nape', 'back']));
    expect(zone(twice, 'top').meanMm).toBe(zone(once, 'top').meanMm);
    expect(zone(twice, 'nape').maxMm).toBe(12);
  });

  it('zones left out keep the present hair', () => {
    const present = new Float32Array(head.roots.count).fill(75);
    const made = cutHead(head, fall, { steps: [even(['nape'], 10)] }, present);
    expect(zone(made, 'top').meanMm).toBeCloseTo(75, 4);
    expect(zone(made, 'nape').maxMm).toBe(10);
  });
});

describe('blended zones', () => {
  it('are nowhere steeper than the blend and a natural fall together', () => {
    const made = cut([
      even(['nape', 'fringe'], 20),
      even(['back', 'crown'], 55),
      even(['top'], 90),
      even(['left-side', 'right-side'], 35),
    ]);
    let steepest = 0;
    for (let i = 0; i < head.roots.count; i++) {
      for (let j = i + 1; j < head.roots.count; j++) {
        const mm = Math.hypot(...[0, 1, 2].map((k) => position[3 * i + k]! - position[3 * j + k]!));
        if (mm < 8) steepest = Math.max(steepest, Math.abs(made.lengthMm[i]! - made.lengthMm[j]!) / (mm + 6));
      }
    }
    // the largest jump, 70 over 20 mm, and 1 mm a mm
    expect(steepest).toBeLessThan(70 / 20 + 1);
    const hard = cut([even(['nape'], 20), even(others('nape'), 90)], apart(['nape', 'back']));
    expect(zone(hard, 'back').minMm).toBe(90);
  });
});
