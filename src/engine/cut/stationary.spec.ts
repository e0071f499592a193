import { describe, expect, it } from '@jest/globals';
import { EngineError } from '../errors.js';
import { buildHead, type Head, type Point } from '../head/index.js';
import type { Anchor, Held, StationaryStep } from './formula.js';
import { anchorPoint, cutStationary } from './stationary.js';
import { tautString } from './taut-string.js';

const head = buildHead({ rootCount: 200 });
const roots = [...head.roots.zone.keys()];
const place = (i: number): Point => {
  const [x, y, z] = head.roots.position.subarray(3 * i, 3 * i + 3);
  return { x: x!, y: y!, z: z! };
};
const stationary = (
  anchor: Anchor,
  lengthMm: number,
  more: Partial<StationaryStep> = {},
): StationaryStep => ({
  kind: 'stationary',
  zones: ['top'],
  anchor,
  lengthMm,
  shape: 'point',
  ...more,
});
const cut = (step: StationaryStep, only: readonly number[] = roots, on: Head = head): Float64Array => {
  const out = new Float64Array(on.roots.count).fill(Number.NaN);
  cutStationary(on, step, 3, only, out);
  return out;
};
const refusal = (act: () => unknown): EngineError => {
  try {
    act();
  } catch (error) {
    if (error instanceof EngineError) return error;
    throw error;
  }
  throw new Error('was not refused');
};

describe('a plane', () => {
  const { apex, occipital, tragionLeft, tragionRight, brow } = head.landmarks;

  // Square to the way the hair is held, `lengthMm` from the anchor: what is left is the way from the root to it.
  it.each<[Held, Anchor, (p: Point) => number]>([
    ['up', 'apex', (p) => apex.z + 40 - p.z],
    ['forward', 'brow', (p) => brow.y + 40 - p.y],
    ['back', 'occipital', (p) => p.y - (occipital.y - 40)],
    ['left', 'tragionLeft', (p) => p.x - (tragionLeft.x - 40)],
    ['right', 'tragionRight', (p) => tragionRight.x + 40 - p.x],
  ])('held %s from %s', (held, anchor, wanted) => {
    const out = cut(stationary(anchor, 40, { held, shape: 'plane' }));
    for (const i of roots) expect(out[i]).toBeCloseTo(wanted(place(i)), 9);
  });

  it('held out stands square to the head', () => {
    // The normal at (45, 38, z) of the ellipsoid is (x / 75^2, y / 95^2, z / 90^2) made 1 long.
    const z = 90 * Math.sqrt(1 - (45 / 75) ** 2 - (38 / 95) ** 2);
    const gradient = [45 / 75 ** 2, 38 / 95 ** 2, z / 90 ** 2] as const;
    const n = gradient.map((part) => part / Math.hypot(...gradient)) as [number, number, number];
    const out = cut(stationary({ x: 45, y: 38, z }, 30, { shape: 'plane' }));
    for (const i of roots) {
      const p = place(i);
      const off = n[0] * (p.x - 45) + n[1] * (p.y - 38) + n[2] * (p.z - z);
      expect(out[i]).toBeCloseTo(30 - off, 9);
    }
  });
});

describe('a point and a line', () => {
  const string = (p: Point, g: Point): number => tautString(75, 95, 90, p.x, p.y, p.z, g.x, g.y, g.z);

  it('take every hair to the guide by a taut string', () => {
    const out = cut(stationary('apex', 100));
    for (const i of roots) expect(out[i]).toBeCloseTo(string(place(i), { x: 0, y: 0, z: 190 }), 9);
    // Held out from the occipital bone, square to the ellipse: (y / 95^2, z / 90^2).
    const { y, z } = head.landmarks.occipital;
    const m = Math.hypot(y / 95 ** 2, z / 90 ** 2);
    const guide = { x: 0, y: y + (50 * y) / 95 ** 2 / m, z: z + (50 * z) / 90 ** 2 / m };
    const behind = cut(stationary('occipital', 50));
    for (const i of roots) expect(behind[i]).toBeCloseTo(string(place(i), guide), 6);
  });

  it('go to the nearest place of a line from side to side or from front to back', () => {
    const across = cut(stationary('apex', 60, { shape: 'line-side-to-side' }));
    const along = cut(stationary('apex', 60, { shape: 'line-front-to-back' }));
    for (const i of roots) {
      const p = place(i);
      expect(across[i]).toBeCloseTo(string(p, { x: p.x, y: 0, z: 150 }), 9);
      expect(along[i]).toBeCloseTo(string(p, { x: 0, y: p.y, z: 150 }), 9);
    }
  });

  it('write the given roots only', () => {
    for (const shape of ['point', 'plane', 'line-side-to-side'] as const) {
      const out = cut(stationary('apex', 100, { shape }), [4, 7]);
      expect([...out.keys()].filter((i) => !Number.isNaN(out[i]!))).toEqual([4, 7]);
    }
  });
});

describe('a guide inside the head', () => {
  const WORDS = 'The guide of step 3 lies inside the head: hold it further out.';

  it('is refused from 3 mm under the skin of the mean head on, of a larger head from as much more', () => {
    for (const k of [1, 1.2]) {
      const on = buildHead({ rootCount: 200, circumferenceMm: 560 * k });
      const at = (deep: number): StationaryStep =>
        stationary({ x: 0, y: 0, z: (90 - deep) * k }, 0, { shape: 'plane', held: 'up' });
      expect(cut(at(2.9), [0], on)[0]).toBeCloseTo((90 - 2.9) * k - on.roots.position[2]!, 9);
      const error = refusal(() => cut(at(3.1), [0], on));
      expect({ code: error.code, field: error.field, step: error.step, message: error.message }).toEqual({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'anchor',
        step: 3,
        message: WORDS,
      });
    }
  });

  it('is told by the place it is held at, not by its anchor', () => {
    const inside = { x: 0, y: 0, z: 40 };
    expect(refusal(() => cut(stationary(inside, 40, { held: 'up' }))).message).toBe(WORDS);
    expect(cut(stationary(inside, 60, { held: 'up' }), [0])[0]).toBeGreaterThan(0);
    for (const held of ['forward', 'back', 'left', 'right'] as const) {
      expect(refusal(() => cut(stationary({ x: 0, y: 0, z: 0 }, 60, { held }))).message).toBe(WORDS);
      expect(cut(stationary({ x: 0, y: 0, z: 0 }, 120, { held }), [0])[0]).toBeGreaterThan(0);
    }
  });

  it('is a line that runs through it, where a root goes to that place', () => {
    // 20 behind the head the line from front to back runs at the height of the occipital bone, into the head.
    const step = stationary('occipital', 20, { held: 'back', shape: 'line-front-to-back' });
    const front = roots.filter((i) => place(i).y > -80);
    const error = refusal(() => cut(step, front));
    expect({ field: error.field, step: error.step, message: error.message }).toEqual({
      field: 'anchor',
      step: 3,
      message: WORDS,
    });
    // From side to side it stays behind.
    expect(cut({ ...step, shape: 'line-side-to-side' }, front).filter(Number.isFinite).length).toBe(
      front.length,
    );
    expect(cut({ ...step, shape: 'point' }, front).filter(Number.isFinite).length).toBe(front.length);
    // Held to the left a line from side to side runs into the head.
    const sideways = stationary('tragionLeft', 20, { held: 'left', shape: 'line-side-to-side' });
    expect(refusal(() => cut(sideways)).message).toBe(WORDS);
  });
});

describe('an anchor', () => {
  it('is a landmark of this head or the very place that is given', () => {
    expect(anchorPoint(head, 'nape', 1)).toBe(head.landmarks.nape);
    const point = { x: 1, y: 2, z: 3 };
    expect(anchorPoint(head, point, 1)).toBe(point);
  });

  it.each(['chin', 'toString', ''])('"%s" is none', (name) => {
    const error = refusal(() => anchorPoint(head, name as 'nape', 4));
    expect({ code: error.code, field: error.field, step: error.step, message: error.message }).toEqual({
      code: 'ENGINE.IMPOSSIBLE',
      field: 'anchor',
      step: 4,
      message: `${name} is not a landmark of the head.`,
    });
  });
});
