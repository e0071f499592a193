import { describe, expect, it } from '@jest/globals';
import { EngineError } from '../errors.js';
import { buildHead, type Head, TRADE_ZONE_BOUNDS } from '../head/index.js';
import { buildFallTable } from '../shape/fall.js';
import { ZONES, type Zone } from '../zones.js';
import { type Cut, type CutFormula, type CutStep, cutHead } from './index.js';
import { edgeMm, isAtGuide, scalpOf } from './scalp.js';

const ALL = [...ZONES];
const head = buildHead({ rootCount: 300 });
const fall = buildFallTable(head);
const { position, areaMm2, count } = head.roots;
const rootsOf = (...zones: Zone[]): number[] =>
  [...head.roots.zone.keys()].filter((i) => zones.includes(ZONES[head.roots.zone[i]!]!));
const x = (i: number): number => position[3 * i]!;
const y = (i: number): number => position[3 * i + 1]!;
const z = (i: number): number => position[3 * i + 2]!;
const even = (zones: readonly Zone[], lengthMm: number): CutStep => ({ kind: 'even', zones, lengthMm });
const others = (...zones: Zone[]): Zone[] => ALL.filter((zone) => !zones.includes(zone));
/** No zone is blended into another. */
const apart: CutFormula['connections'] = ZONES.flatMap((a, i) =>
  ZONES.slice(i + 1).map((b) => ({ between: [a, b] as const, join: 'disconnected' as const })),
);
const cut = (
  steps: readonly CutStep[],
  more: Partial<CutFormula> = {},
  present?: Float32Array | Float64Array,
): Cut => cutHead(head, fall, { steps, connections: apart, ...more }, present);
const zoneOf = (made: Cut, zone: Zone): Cut['zones'][number] => made.zones.find((of) => of.zone === zone)!;
const refusal = (act: () => unknown): object => {
  try {
    act();
  } catch (error) {
    if (!(error instanceof EngineError)) throw error;
    return { code: error.code, field: error.field, step: error.step, message: error.message };
  }
  throw new Error('was not refused');
};
const grown = (mm: (root: number) => number): Float64Array =>
  Float64Array.from({ length: count }, (_, i) => mm(i));

describe('natural fall', () => {
  it('cuts what hangs free below the equator to a line that drops to the face and to the left', () => {
    const { mastoidLeft: from } = head.landmarks;
    const made = cut([
      {
        kind: 'natural-fall',
        zones: ['nape'],
        anchor: 'mastoidLeft',
        belowMm: 80,
        dropToFaceDegrees: 10,
        dropToLeftDegrees: 15,
      },
      even(others('nape'), 300),
    ]);
    const degrees = Math.PI / 180;
    for (const i of rootsOf('nape')) {
      // 80 under the mastoid, and lower by the tangent for every mm towards the face and the left (-x).
      const line =
        from.z - 80 - Math.tan(10 * degrees) * (y(i) - from.y) + Math.tan(15 * degrees) * (x(i) - from.x);
      expect(made.lengthMm[i]).toBeCloseTo(z(i) - line, 3);
    }
  });

  it('is level, and at the anchor, unless told otherwise', () => {
    const made = cut([
      { kind: 'natural-fall', zones: ['nape'], anchor: { x: 9, y: 9, z: -140 } },
      even(others('nape'), 300),
    ]);
    for (const i of rootsOf('nape')) expect(made.lengthMm[i]).toBeCloseTo(z(i) + 140, 3);
  });
});

describe('a level', () => {
  const held = (zones: readonly Zone[], anchor: 'apex' | 'occipital', lengthMm: number): CutStep => ({
    kind: 'held-up',
    zones,
    anchor,
    lengthMm,
  });

  it('leaves the height up to it', () => {
    const made = cut([held(ALL, 'apex', 60)]);
    for (let i = 0; i < count; i++) expect(made.lengthMm[i]).toBeCloseTo(150 - z(i), 3);
    expect(made.clamped).toEqual([]);
    for (const of of made.zones) {
      const roots = rootsOf(of.zone);
      const weight = roots.reduce((sum, i) => sum + areaMm2[i]!, 0);
      const mean = roots.reduce((sum, i) => sum + areaMm2[i]! * (150 - z(i)), 0) / weight;
      expect(of.meanMm).toBeCloseTo(mean, 9);
      expect(of.minMm).toBeCloseTo(150 - Math.max(...roots.map(z)), 9);
      expect(of.maxMm).toBeCloseTo(150 - Math.min(...roots.map(z)), 9);
      // The guide is where the hair is shortest.
      expect(of.guideMm).toBe(of.minMm);
      expect(of.missingMm).toBe(0);
    }
  });

  it('stops at the skin and tells the zones, each once, the step, and the part of their roots', () => {
    // The occipital bone lies at -15: 35 above it is z = 20.
    const made = cut([even(ALL, 200), held(['back', 'top', 'back', 'nape'], 'occipital', 35)]);
    const over = (zone: Zone): number => rootsOf(zone).filter((i) => z(i) > 20).length / rootsOf(zone).length;
    expect(over('back')).toBeGreaterThan(0);
    expect(over('back')).toBeLessThan(1);
    expect(made.clamped).toEqual([
      { zone: 'back', step: 2, share: over('back') },
      { zone: 'top', step: 2, share: 1 },
    ]);
    for (const i of rootsOf('back', 'top')) expect(made.lengthMm[i]).toBeCloseTo(Math.max(0, 20 - z(i)), 3);
  });

  it('at the very skin is not under it', () => {
    const highest = rootsOf('top').reduce((a, b) => (z(b) > z(a) ? b : a));
    const point = { x: 0, y: 0, z: z(highest) };
    expect(
      cut([{ kind: 'held-up', zones: ['top'], anchor: point, lengthMm: 0 }, even(others('top'), 5)]).clamped,
    ).toEqual([]);
  });
});

describe('a plane', () => {
  it('square to hair held up, 100 above the apex, leaves the height up to it in every zone of the step', () => {
    const plane: CutStep = {
      kind: 'stationary',
      zones: ['top', 'crown'],
      anchor: 'apex',
      lengthMm: 100,
      held: 'up',
      shape: 'plane',
    };
    const made = cut([even(others('crown'), 500), plane]);
    for (const i of rootsOf('top', 'crown')) expect(made.lengthMm[i]).toBeCloseTo(190 - z(i), 3);
    for (const i of rootsOf('back')) expect(made.lengthMm[i]).toBe(500);
  });
});

describe('a taper', () => {
  const up = (i: number): number => z(i) - head.hairlineZ((Math.atan2(x(i), y(i)) * 180) / Math.PI);
  const taper: CutStep = { kind: 'taper', zones: ['nape', 'back'], fromMm: 3, toMm: 25, overMm: 40 };

  it('goes on at its longest where nothing was cut before', () => {
    const made = cut([taper, even(others('nape', 'back'), 50)]);
    for (const i of rootsOf('nape', 'back')) {
      expect(made.lengthMm[i]).toBeCloseTo(3 + 22 * Math.min(1, up(i) / 40), 3);
    }
  });

  it('leaves what was cut before above the comb, and what was shorter', () => {
    const made = cut([even(ALL, 20), taper]);
    for (const i of rootsOf('nape', 'back')) {
      const wanted = up(i) < 40 ? Math.min(20, 3 + (22 * up(i)) / 40) : 20;
      expect(made.lengthMm[i]).toBeCloseTo(wanted, 3);
    }
    expect(made.clamped).toEqual([]);
  });

  it('may get shorter upwards', () => {
    const made = cut([even(ALL, 50), { ...taper, fromMm: 30, toMm: 10 } as CutStep]);
    for (const i of rootsOf('nape')) {
      if (up(i) < 40) expect(made.lengthMm[i]).toBeCloseTo(30 - (20 * up(i)) / 40, 3);
    }
  });
});

describe('measured lengths', () => {
  it('shift a whole zone by what is missing at its guide', () => {
    const held: CutStep = { kind: 'held-up', zones: ['back'], anchor: 'apex', lengthMm: 60 };
    const steps = [held, even(others('back'), 50)];
    const [free, fitted] = [cut(steps), cut(steps, { measuredMm: { back: 90, top: 44 } })];
    const derived = zoneOf(free, 'back').guideMm;
    for (const i of rootsOf('back'))
      expect(fitted.lengthMm[i]! - free.lengthMm[i]!).toBeCloseTo(90 - derived, 3);
    for (const i of rootsOf('top')) expect(fitted.lengthMm[i]).toBeCloseTo(44, 5);
    expect(zoneOf(fitted, 'back')).toMatchObject({
      derivedGuideMm: derived,
      measuredMinusDerivedMm: 90 - derived,
      guideMm: expect.closeTo(90, 6),
    });
    expect(zoneOf(fitted, 'top').measuredMinusDerivedMm).toBeCloseTo(-6, 9);
    expect(Object.keys(zoneOf(fitted, 'nape'))).not.toContain('derivedGuideMm');
    expect(Object.keys(zoneOf(fitted, 'nape'))).not.toContain('measuredMinusDerivedMm');
    expect(fitted.clamped).toEqual([]);
  });

  it('shift no hair under the skin, and tell which zone, as step 0', () => {
    // A taper from 3 to 60 in 40 mm; at the lower edge it has some 3, and measured there is 0.
    const taper: CutStep = { kind: 'taper', zones: ['nape'], fromMm: 3, toMm: 60, overMm: 40 };
    const steps = [taper, even(others('nape'), 50)];
    const free = cut(steps);
    const from = zoneOf(free, 'nape').guideMm;
    const made = cut(steps, { measuredMm: { nape: 0 } });
    const bare = rootsOf('nape').filter((i) => free.lengthMm[i]! < from).length;
    expect(bare).toBeGreaterThan(0);
    expect(made.clamped).toEqual([{ zone: 'nape', step: 0, share: bare / rootsOf('nape').length }]);
    for (const i of rootsOf('nape')) {
      expect(made.lengthMm[i]).toBeCloseTo(Math.max(0, free.lengthMm[i]! - from), 3);
    }
  });

  it('hold at the guide, where blending takes hair off the rest of the zone only', () => {
    const steps = [even(['fringe'], 65), even(others('fringe'), 20)];
    const measured = cut(steps, { connections: [], measuredMm: { fringe: 65 } });
    const free = cut(steps, { connections: [] });
    const scalp = scalpOf(head);
    const guide = rootsOf('fringe').filter((i) => edgeMm(scalp, 'below', i) <= 15);
    const rest = rootsOf('fringe').filter((i) => edgeMm(scalp, 'below', i) > 15);
    for (const i of guide) {
      expect(isAtGuide(scalp, 'below', i)).toBe(true);
      expect(measured.lengthMm[i]).toBe(65);
    }
    expect(Math.min(...guide.map((i) => free.lengthMm[i]!))).toBeLessThan(60);
    expect(Math.min(...rest.map((i) => measured.lengthMm[i]!))).toBeLessThan(60);
    // At its upper edge, beside the top, where its step started from there.
    const above: CutStep = {
      kind: 'travelling',
      zones: ['fringe'],
      guide: { kind: 'length', lengthMm: 65 },
      startAt: 'above',
      section: 'horizontal',
      elevationDegrees: 90,
    };
    const fromAbove = cut([above, even(others('fringe'), 20)], {
      connections: [],
      measuredMm: { fringe: 65 },
    });
    const upper = rootsOf('fringe').filter((i) => edgeMm(scalp, 'above', i) <= 15);
    expect(upper.length).toBeGreaterThan(2);
    for (const i of upper) expect(fromAbove.lengthMm[i]).toBeCloseTo(65, 5);
    expect(Math.min(...guide.map((i) => fromAbove.lengthMm[i]!))).toBeLessThan(60);
    // So does that of a zone that has no step.
    const alone = cut([even(others('fringe'), 20)], { connections: [], measuredMm: { fringe: 65 } });
    for (const i of guide) expect(alone.lengthMm[i]).toBe(65);
    // Hair of other zones is nowhere held.
    const back = cut([even(['back'], 65), even(others('back'), 20)], {
      connections: [],
      measuredMm: { fringe: 20 },
    });
    expect(Math.min(...rootsOf('back').map((i) => back.lengthMm[i]!))).toBeLessThan(40);
  });
});

describe('the present hair', () => {
  it('is never made longer, and what is missing is told by the most', () => {
    const present = grown((i) => (z(i) > 60 ? 35 : 45));
    const made = cut([even(['top'], 50), even(['back'], 40)], {}, present);
    for (const i of rootsOf('top')) expect(made.lengthMm[i]).toBe(present[i]);
    expect(zoneOf(made, 'top')).toMatchObject({ minMm: 35, maxMm: 45, missingMm: 15 });
    expect(zoneOf(made, 'back')).toMatchObject({ missingMm: 0, maxMm: 40 });
    expect(zoneOf(made, 'crown').missingMm).toBe(0);
  });

  it('must be one length from 0 to 2000 mm for every root', () => {
    const steps = [even(ALL, 50)];
    const refused = (present: Float64Array): object => refusal(() => cut(steps, {}, present));
    const broken = { field: 'present', step: undefined };
    const words = 'present must hold lengths from 0 to 2000 mm.';
    for (const wrong of [count - 1, count + 1, 0]) {
      expect(refused(new Float64Array(wrong))).toEqual({
        ...broken,
        code: 'ENGINE.OUT_OF_RANGE',
        message: `present must hold one length for each of the ${count} roots.`,
      });
    }
    for (const mm of [-0.1, 2000.1]) {
      expect(refused(grown((i) => (i === 7 ? mm : 50)))).toEqual({
        ...broken,
        code: 'ENGINE.OUT_OF_RANGE',
        message: words,
      });
    }
    for (const mm of [Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(refused(grown((i) => (i === 7 ? mm : 50)))).toEqual({
        ...broken,
        code: 'ENGINE.NOT_A_NUMBER',
        message: words,
      });
    }
    expect(
      cut(
        steps,
        {},
        grown((i) => (i % 2) * 2000),
      ).lengthMm[0],
    ).toBe(0);
  });
});

describe('what is not known', () => {
  it('a guide from a zone that is cut later, unless there is hair', () => {
    const from: CutStep = {
      kind: 'travelling',
      zones: ['back'],
      guide: { kind: 'zone', zone: 'nape' },
      section: 'horizontal',
      elevationDegrees: 90,
    };
    const steps = [even(['top'], 50), from, even(ALL, 50)];
    expect(refusal(() => cut(steps))).toMatchObject({ field: 'guide.zone', step: 2 });
    expect(
      cut(
        steps,
        {},
        grown(() => 30),
      ).lengthMm[rootsOf('back')[0]!],
    ).toBeCloseTo(30, 5);
  });

  it('an anchor that is no landmark, in the step that names it', () => {
    for (const step of [
      { kind: 'held-up', zones: ['top'], anchor: 'chin', lengthMm: 20 },
      { kind: 'natural-fall', zones: ['top'], anchor: 'chin' },
      { kind: 'stationary', zones: ['top'], anchor: 'chin', lengthMm: 20, shape: 'point' },
    ] as unknown as CutStep[]) {
      expect(refusal(() => cut([even(ALL, 50), even(ALL, 40), step]))).toEqual({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'anchor',
        step: 3,
        message: 'chin is not a landmark of the head.',
      });
    }
  });

  it('a zone that neither a step nor a measurement nor the present hair gives a length', () => {
    expect(refusal(() => cut([even(['top'], 50)]))).toEqual({
      code: 'ENGINE.IMPOSSIBLE',
      field: 'steps',
      step: undefined,
      message: 'Nothing says how long fringe is: add a step, a measured length or the present hair.',
    });
  });

  it('a length at a root that has no place', () => {
    const zone = head.roots.zone.indexOf(ZONES.indexOf('top'));
    const lost = rootsOf('top').find((i) => i > zone)!;
    const broken: Head = {
      ...head,
      roots: { ...head.roots, position: position.map((of, k) => (k === 3 * lost + 2 ? Number.NaN : of)) },
    };
    const steps: CutStep[] = [{ kind: 'held-up', zones: ALL, anchor: 'apex', lengthMm: 60 }];
    expect(refusal(() => cutHead(broken, fall, { steps }))).toEqual({
      code: 'ENGINE.NOT_A_NUMBER',
      field: 'lengthMm',
      step: undefined,
      message: 'The cut of top has no finite length.',
    });
  });

  it('a zone sectioned down to nothing has no hair, and nothing to be told of it', () => {
    const none = buildHead({ rootCount: 200, zoneBounds: { ...TRADE_ZONE_BOUNDS, fringeWithinDegrees: 0 } });
    const made = cutHead(none, buildFallTable(none), { steps: [even(ALL, 50)] });
    expect(zoneOf(made, 'fringe')).toEqual({
      zone: 'fringe',
      meanMm: 0,
      minMm: 0,
      maxMm: 0,
      guideMm: 0,
      missingMm: 0,
    });
    expect(made.clamped).toEqual([]);
    expect(made.zones.map((of) => of.zone)).toEqual(ALL);
  });
});
