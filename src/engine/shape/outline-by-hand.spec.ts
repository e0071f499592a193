import { describe, expect, it } from '@jest/globals';
import { type Loop, loopArea } from './draw/contour.js';
import { outlineFrom, type Silhouette, shortPatches } from './outline.js';
import type { View } from './view.js';

interface Strand {
  /** Places of its samples. */
  readonly at: readonly (readonly [number, number, number])[];
  /** Length of strand that each sample stands for, 6 mm unless given. */
  readonly mm?: readonly number[];
  readonly lengthMm?: number;
  readonly areaMm2?: number;
}

/** What an outline reads of a silhouette. The grid is one of 4 mm with a cell at 0, 0. */
function hair(strands: readonly Strand[]): Silhouette {
  const start = [0];
  for (const { at } of strands) start.push(start[start.length - 1]! + at.length);
  const places = strands.flatMap(({ at }) => at);
  return {
    shape: {
      head: { surface: { radiiMm: { x: 50, y: 60, z: 8 } } },
      lengthsMm: Float32Array.from(strands, ({ lengthMm = 6 }) => lengthMm),
    },
    strands: {
      count: strands.length,
      areaMm2: Float64Array.from(strands, ({ areaMm2 = 16 }) => areaMm2),
    },
    thickness: { topMm: 56, rows: 20 },
    seen: {
      start: Int32Array.from(start),
      x: Float32Array.from(places, ([x]) => x),
      y: Float32Array.from(places, ([, y]) => y),
      z: Float32Array.from(places, ([, , z]) => z),
      mm: Float32Array.from(strands.flatMap(({ at, mm = at.map(() => 6) }) => mm)),
    },
  } as unknown as Silhouette;
}

type Span = readonly [number, number];
/** A strand of one sample at every 4 mm of a block: with 16 mm² of scalp each, it covers just fully. */
function block(x: Span, y: Span, z: Span, more: Omit<Strand, 'at'> = {}): Strand[] {
  const strands: Strand[] = [];
  for (let i = x[0]; i <= x[1]; i += 4) {
    for (let j = y[0]; j <= y[1]; j += 4) {
      for (let k = z[0]; k <= z[1]; k += 4) strands.push({ at: [[i, j, k]], ...more });
    }
  }
  return strands;
}

/** How far loops reach: left, right, down, up. */
function reach(loops: readonly Loop[]): number[] {
  const u = loops.flatMap((loop) => [...loop].filter((_, i) => i % 2 === 0));
  const v = loops.flatMap((loop) => [...loop].filter((_, i) => i % 2 === 1));
  return [Math.min(...u), Math.max(...u), Math.min(...v), Math.max(...v)];
}
const closeTo = (found: number[], wanted: number[]) => {
  wanted.forEach((mm, i) => {
    expect(found[i]).toBeCloseTo(mm, 1);
  });
};

/*
 * A block softened by 1-2-1 holds 3/4 in its last cell and 1/4 in the next: cover falls to 0.3 nine tenths of 4 mm
 * beyond the last sample.
 */
const EDGE = 3.6;

describe('outlineFrom', () => {
  it.each([
    { view: 'right', side: 'near', u: [0, 40] },
    { view: 'left', side: 'far', u: [-40, 0] },
  ] as const)('of hair on the right, forward, from the $view: $side', ({ view, side, u }) => {
    const outline = outlineFrom(hair(block([30, 30], [0, 40], [-20, 20])), view);
    expect(outline.view).toBe(view);
    closeTo(reach(outline[side]), [u[0] - EDGE, u[1] + EDGE, -20 - EDGE, 20 + EDGE]);
    expect(outline[side === 'near' ? 'far' : 'near']).toEqual([]);
  });

  it.each([
    { view: 'front', side: 'near', u: [-40, 0] },
    { view: 'back', side: 'far', u: [0, 40] },
  ] as const)('of hair in front, to the right, from the $view: $side', ({ view, side, u }) => {
    const outline = outlineFrom(hair(block([0, 40], [30, 30], [-20, 20])), view);
    closeTo(reach(outline[side]), [u[0] - EDGE, u[1] + EDGE, -20 - EDGE, 20 + EDGE]);
    expect(outline[side === 'near' ? 'far' : 'near']).toEqual([]);
  });

  it('counts hair to 10 mm behind the middle plane to the near side', () => {
    const side = (x: number) => outlineFrom(hair(block([x, x], [0, 40], [-20, 20])), 'right');
    expect(side(-9.9).near).toHaveLength(1);
    expect(side(-9.9).far).toHaveLength(0);
    expect(side(-10).near).toHaveLength(0);
    expect(side(-10).far).toHaveLength(1);
  });

  it('runs round a hole clockwise', () => {
    const ring = block([30, 30], [-40, 40], [-40, 40]).filter(({ at }) =>
      at.some(([, y, z]) => Math.max(Math.abs(y), Math.abs(z)) > 20),
    );
    const areas = outlineFrom(hair(ring), 'right')
      .near.map(loopArea)
      .sort((a, b) => a - b);
    expect(areas).toHaveLength(2);
    // The hole is free from -20 to 20, less what the edge takes of the 4 mm to the next samples; corners are rounded.
    expect(areas[0]).toBeLessThan(-1300);
    expect(areas[0]).toBeGreaterThan(-((48 - 2 * EDGE) ** 2));
    expect(areas[1]).toBeGreaterThan(80 * 80);
    expect(areas[1]).toBeLessThan((80 + 2 * EDGE) ** 2);
  });

  it('has a point about every 5 mm', () => {
    const [loop] = outlineFrom(hair(block([30, 30], [-40, 40], [-40, 40])), 'right').near;
    // Once round is 4 · 87.2 mm less four rounded corners of a cell.
    expect(loop!.length / 2).toBeGreaterThan(62);
    expect(loop!.length / 2).toBeLessThanOrEqual(70);
  });

  it.each([
    { mm: 0.9, drawn: false },
    { mm: 1, drawn: true },
    { mm: 3.9, drawn: true },
  ])('draws stubble from 1 mm on, as if it were 4 mm long: $mm', ({ mm, drawn }) => {
    const stubble = outlineFrom(hair(block([30, 30], [-40, 40], [-40, 40], { mm: [mm] })), 'right').near;
    expect(stubble).toHaveLength(drawn ? 1 : 0);
    if (!drawn) return;
    // Cover 4/6: half of it in the last cell but for a quarter, a sixth in the next; 0.3 lies at 0.6 of 4 mm.
    closeTo(reach(stubble), [-42.4, 42.4, -42.4, 42.4]);
  });

  it('takes 4 mm and the tip of a longer strand for what they are', () => {
    const four = outlineFrom(hair(block([30, 30], [-40, 40], [-40, 40], { mm: [4] })), 'right').near;
    closeTo(reach(four), [-42.4, 42.4, -42.4, 42.4]);
    // 1.5 mm of tip cover a quarter, which is less than the eye sees.
    const tips = block([30, 30], [-40, 40], [-40, 40]).map(({ at }): Strand => {
      const [x, y, z] = at[0]!;
      return {
        at: [
          [-x, y, z],
          [x, y, z],
        ],
        mm: [6, 1.5],
      };
    });
    const both = outlineFrom(hair(tips), 'right');
    expect(both.far).toHaveLength(1);
    expect(both.near).toHaveLength(0);
  });

  it('covers by the scalp a strand stands for', () => {
    const thin = (areaMm2: number) =>
      outlineFrom(hair(block([30, 30], [-40, 40], [-40, 40], { areaMm2 })), 'right').near;
    // 0.3 of 16 mm² is 4.8.
    expect(thin(4.7)).toHaveLength(0);
    expect(thin(5)).toHaveLength(1);
  });

  it('leaves out specks under 90 mm²', () => {
    // Softened, a single sample of 2 has 1/2 in its cell and 1/4 beside it: a diamond of 20 mm². One of 20 reaches farther.
    const speck = (cover: number) =>
      outlineFrom(hair([{ at: [[30, 0, 0]], areaMm2: 16 * cover }]), 'right').near;
    expect(speck(2)).toHaveLength(0);
    expect(speck(20)).toHaveLength(1);
  });

  it('has room for hair to 60 mm off the head and down to the last row', () => {
    for (const at of [
      [30, 116, 0],
      [30, -116, 0],
      [30, 0, 64],
      [30, 0, -64],
    ] as const) {
      expect(outlineFrom(hair([{ at: [at], areaMm2: 320 }]), 'right').near).toHaveLength(1);
    }
  });
});

describe('shortPatches', () => {
  const halves = (lengthMm: number) => [
    ...block([30, 30], [-40, -4], [-20, 20], { lengthMm }),
    ...block([30, 30], [0, 40], [-20, 20], { lengthMm: 60 }),
  ];
  const patches = (lengthMm: number, view: View = 'right') => shortPatches(hair(halves(lengthMm)), view, 10);

  it('are where hair is shorter than asked, longer hair taking away from it', () => {
    // Softened, 1 beside -1 is 1/2 in the last cell and -1/2 in the next: 0.06 lies 0.44 of 4 mm beyond -4.
    const [left, right, low, high] = reach(patches(9));
    expect(right).toBeCloseTo(-4 + 1.76, 1);
    // Towards nothing 3/4, 1/4 and 0: 0.06 lies in the second step, 0.76 of the way.
    expect(left).toBeCloseTo(-40 - 4 * 1.76, 1);
    expect(low).toBeCloseTo(-20 - 4 * 1.76, 1);
    expect(high).toBeCloseTo(20 + 4 * 1.76, 1);
  });

  it('are none of hair just as long as asked, and none on the far side', () => {
    expect(patches(10)).toEqual([]);
    expect(patches(9, 'left')).toEqual([]);
  });
});
