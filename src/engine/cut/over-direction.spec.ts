import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { buildHead } from '../head/index.js';
import { ZONES, type Zone } from '../zones.js';
import type { TravellingStep } from './formula.js';
import type { Scalp } from './scalp.js';
import { cutTravelling, overDirectedMm } from './travelling.js';

describe('over-direction', () => {
  it.each([
    [1, 18, 100],
    [2, 10, 60],
    [1, 25, 40],
  ])(
    '%d sections back, depth %d, guide %d: as pulling section after section to the one before',
    (k, w, guide) => {
      // Independent: the chord from each root to the end of the hair k sections back, held square to a ball of 86.
      const R = 86;
      const lengths: number[] = Array.from({ length: k }, () => guide);
      for (let i = k; i < 7 * k; i++) {
        const L = lengths[i - k]!;
        const angle = (k * w) / R;
        lengths.push(Math.sqrt(R * R + (R + L) ** 2 - 2 * R * (R + L) * Math.cos(angle)));
      }
      const s = w * (lengths.length - k);
      const ours = overDirectedMm(guide, (k * w * s) / (2 * R), R);
      const gain = lengths[lengths.length - 1]! - guide;
      // The design's w^2 (R + L) / (2 R L) a section is the first term; 10 % covers the next ones at these depths.
      expect(Math.abs(ours - guide - gain)).toBeLessThan(0.1 * gain);
      const first = (k * w * w * (R + guide)) / (2 * R * guide);
      expect(Math.abs(overDirectedMm(guide, (k * w * w) / (2 * R), R) - guide - first)).toBeLessThan(
        0.1 * first,
      );
    },
  );

  it('leaves a guide of 0 finite and never shortens', () => {
    expect(overDirectedMm(0, 0, 86)).toBe(0);
    expect(overDirectedMm(0, 3, 86)).toBeGreaterThan(0);
    expect(overDirectedMm(0, 3, 86)).toBeLessThan(100);
    expect(overDirectedMm(80, 1e-9, 86)).toBeGreaterThanOrEqual(80);
  });
});

describe('the length that over-direction leaves', () => {
  it('solves L - R ln(R + L) = L0 - R ln(R + L0) + pulled', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 500, noNaN: true }),
        fc.double({ min: 1e-6, max: 300, noNaN: true }),
        fc.double({ min: 60, max: 110, noNaN: true }),
        (startMm, pulledMm, R) => {
          const made = overDirectedMm(startMm, pulledMm, R);
          const gained = made - startMm - R * Math.log((R + made) / (R + startMm));
          expect(made).toBeGreaterThanOrEqual(startMm);
          expect(Math.abs(gained - pulledMm)).toBeLessThan(1e-6);
        },
      ),
    );
  });

  it('is the length itself where nothing is pulled', () => {
    expect(overDirectedMm(37, 0, 86)).toBe(37);
    expect(overDirectedMm(37, -5, 86)).toBe(37);
  });
});

describe('a step that over-directs', () => {
  const head = buildHead({ rootCount: 200 });
  const { x: a, y: b, z: c } = head.surface.radiiMm;
  const R = Math.cbrt(a * b * c);
  type Towards = NonNullable<TravellingStep['overDirection']>['towards'];
  const run = (zone: Zone, arcMm: number): readonly [number, number] => [ZONES.indexOf(zone), arcMm];
  // Three roots of the back, one of the nape: how far round they stand, where, and how far it is up and down from each.
  const side = [5, 20, 50, 0];
  const x = [-60, 0, 45, 0];
  const upwards = [
    [run('back', 30), run('crown', 99)],
    [run('back', 12)],
    [run('back', 20), run('left-side', 7), run('back', 1)],
    [],
  ];
  const downwards = [
    [run('back', 40), run('nape', 3)],
    [run('back', 9)],
    [run('back', 25)],
    [run('nape', 1)],
  ];
  const runs = (lists: readonly (readonly (readonly [number, number])[])[]): Scalp['down'] => {
    const all = lists.flat();
    let next = 0;
    return {
      start: Uint32Array.from([0, ...lists.map((list) => (next += list.length))]),
      zone: Uint8Array.from(all, ([zone]) => zone),
      arcMm: Float64Array.from(all, ([, mm]) => mm),
      // Nothing is gained on the way, so that only over-direction shows.
      straightMm: new Float64Array(all.length),
      dipped: new Uint8Array(all.length),
      exitSideMm: new Float64Array(all.length).fill(25),
    } as unknown as Scalp['down'];
  };
  const scalp = {
    head: { ...head, roots: { ...head.roots, position: Float64Array.from(x.flatMap((of) => [of, 0, 0])) } },
    neighbours: {
      ofZone: ZONES.map((zone) => Uint32Array.from(zone === 'back' ? [0, 1, 2] : zone === 'nape' ? [3] : [])),
      sideMm: Float64Array.from(side),
    },
    down: runs(downwards),
    up: runs(upwards),
  } as unknown as Scalp;
  const cut = (lengthMm: number, overDirection: TravellingStep['overDirection'], more = {}): number[] => {
    const out = new Float64Array(4).fill(-1);
    const step: TravellingStep = {
      kind: 'travelling',
      zones: ['back'],
      guide: { kind: 'length', lengthMm },
      section: 'horizontal',
      elevationDegrees: 90,
      ...(overDirection && { overDirection }),
      ...more,
    };
    cutTravelling(scalp, step, 0, new Float64Array(4), out);
    return [...out];
  };
  const arc = (of: number): number => a * Math.asin(of / a);

  // From where the pulled hair is combed to, each root stands so many mm further than the closest of the region.
  it.each<[Towards, readonly number[]]>([
    ['back', [0, 15, 45]],
    ['face', [45, 30, 0]],
    // Up: the way up within the region, and no further than it leaves it.
    ['up', [18, 0, 8]],
    ['down', [31, 0, 16]],
    ['left', [0, arc(60), arc(60) + arc(45)]],
    ['right', [arc(45) + arc(60), arc(45), 0]],
  ])('towards %s', (towards, further) => {
    // dL / ds = k w (R + L) / (2 R L)
    const pulled = (mm: number): number => overDirectedMm(80, (2 * 12 * mm) / (2 * R), R);
    const made = cut(80, { sections: 2, towards }, { sectionDepthMm: 12 });
    further.forEach((mm, i) => {
      expect(made[i]).toBeCloseTo(pulled(mm), 9);
    });
    expect(made[3]).toBe(-1);
  });

  it('takes a section a finger deep for 18 mm, and half a section for half', () => {
    const made = cut(80, { sections: 0.5, towards: 'back' });
    expect(made[2]).toBeCloseTo(overDirectedMm(80, (0.5 * 18 * 45) / (2 * R), R), 9);
  });

  it('by no section is none', () => {
    expect(cut(80, { sections: 0, towards: 'back' })).toEqual([80, 80, 80, -1]);
    expect(cut(80, undefined)).toEqual([80, 80, 80, -1]);
  });

  it('starts from nothing where the step would leave less than nothing', () => {
    // Every way ends 20 mm round from the region's edge, at half a mm less a mm: 10 under 0.
    const made = cut(0, { sections: 1, towards: 'back' }, { section: 'vertical', stepPerSectionMm: -9 });
    expect(made[0]).toBe(0);
    expect(made[2]).toBeCloseTo(overDirectedMm(0, (18 * 45) / (2 * R), R), 9);
  });

  it('does not reach past the side of the head', () => {
    const position = Float64Array.of(-75.001, 0, 0, 0, 0, 0, 75.001, 0, 0, 0, 0, 0);
    const outside: Scalp = { ...scalp, head: { ...scalp.head, roots: { ...scalp.head.roots, position } } };
    const out = new Float64Array(4);
    const step: TravellingStep = {
      kind: 'travelling',
      zones: ['back', 'nape'],
      guide: { kind: 'length', lengthMm: 80 },
      section: 'horizontal',
      elevationDegrees: 90,
      overDirection: { sections: 1, towards: 'left' },
    };
    cutTravelling(outside, step, 0, new Float64Array(4), out);
    expect(out[2]).toBeCloseTo(overDirectedMm(80, (18 * a * Math.PI) / (2 * R), R), 9);
    cutTravelling(outside, { ...step, overDirection: { sections: 1, towards: 'right' } }, 0, out, out);
    expect(out[0]).toBeCloseTo(overDirectedMm(80, (18 * a * Math.PI) / (2 * R), R), 9);
  });
});
