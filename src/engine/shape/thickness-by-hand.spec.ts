import { describe, expect, it } from '@jest/globals';
import type { StrandSamples, StrandTable } from './strands.js';
import { type HairBody, thicknessByHeight, thicknessGrid } from './thickness.js';

interface Sample {
  readonly z: number;
  readonly column?: number;
  readonly at?: readonly [number, number];
  readonly normal?: readonly [number, number, number];
  readonly areaMm2?: number;
}
const LEVEL = [1, 0, 0] as const;
/** Surface of a cell 45 mm from the axis where the head stands upright: its part of the circle by 6 mm. */
const SURFACE = ((2 * Math.PI * 45) / 72) * 6;
const PER_MM2 = Math.PI * 0.035 ** 2 * 1.7;
/** Scalp that puts so many mm of hair on a cell: hair of 6 mm length at 8 % packing. */
const areaFor = (thickMm: number) => (thickMm * 0.08 * SURFACE) / (PER_MM2 * 6);

/** One root for every sample, of 6 mm of strand. */
function gridOf(samples: readonly Sample[], body?: HairBody) {
  const count = samples.length;
  const at = samples.map((one) => one.at ?? [27, 36]);
  const order = Array.from({ length: count + 1 }, (_, i) => i);
  const table: StrandTable = {
    count,
    start: Int32Array.from(order),
    position: new Float32Array(3 * count),
    normal: Float32Array.from(samples.flatMap(({ normal = LEVEL }) => normal)),
    column: Uint8Array.from(samples, ({ column = 5 }) => column),
    areaMm2: Float64Array.from(samples, ({ areaMm2 = areaFor(4) }) => areaMm2),
  };
  const taken: StrandSamples = {
    start: Int32Array.from(order),
    x: Float32Array.from(at, ([x]) => x!),
    y: Float32Array.from(at, ([, y]) => y!),
    z: Float32Array.from(samples, ({ z }) => z),
    mm: new Float32Array(count).fill(6),
    at: Int32Array.from(order.slice(0, count)),
  };
  return body ? thicknessGrid(table, taken, body) : thicknessGrid(table, taken);
}
const one = (sample: Omit<Sample, 'z'>, body?: HairBody) => gridOf([{ z: 10, ...sample }], body).mm[5];

describe('thickness of a single cell', () => {
  it('is the hair in it over its surface at 8 %: 100 mm² of scalp, 6 mm long', () => {
    expect(one({ areaMm2: 100 })).toBeCloseTo((100 * PER_MM2 * 6) / (0.08 * SURFACE), 5);
    expect(one({ areaMm2: 100 })).toBeCloseTo(2.08, 2);
  });

  it('rises with the number of hairs, and with the square of their diameter', () => {
    const body = { perMm2: 3.4, diameterUm: 70 };
    expect(one({}, body)).toBeCloseTo(8, 4);
    expect(one({}, { perMm2: 1.7, diameterUm: 140 })).toBeCloseTo(16, 4);
  });

  it('is less where the head slopes: the cell is longer there by the level part of the normal', () => {
    expect(one({ normal: [0.36, 0.48, 0.8] })).toBeCloseTo(4 * 0.6, 5);
    expect(one({ normal: [0.3, 0, 0.95] })).toBeCloseTo(4 * 0.3, 5);
    // On top the slope counts as a tenth at least.
    expect(one({ normal: [0.01, 0, 1], areaMm2: areaFor(40) })).toBeCloseTo(4, 4);
  });

  it('takes no cell for smaller than 20 mm², and no hair for thinner than 1 mm', () => {
    expect(one({ at: [1, 0] })).toBeCloseTo((4 * SURFACE) / 20, 4);
    expect(one({ areaMm2: areaFor(0.3) })).toBe(1);
  });

  it('adds up the strands that pass', () => {
    const { mm } = gridOf([
      { z: 10, areaMm2: areaFor(2) },
      { z: 11, areaMm2: areaFor(3) },
    ]);
    expect(mm[5]).toBeCloseTo(5, 5);
  });
});

describe('rows and columns', () => {
  it('begin half a row above the highest sample and reach below the lowest', () => {
    // From 13 down to -20 are 33 mm: 5.5 rows of 6, and one more; -20 lies in the sixth.
    const grid = gridOf([{ z: 10 }, { z: -20, column: 70 }]);
    expect(grid).toMatchObject({ columns: 72, rows: 7, topMm: 13 });
    const held = [...grid.mm].flatMap((mm, cell) => (mm > 0 ? [cell] : []));
    expect(held).toEqual([5, 5 * 72 + 70]);
  });

  it('are as many in whatever order the samples come', () => {
    expect(gridOf([{ z: -20 }, { z: 10 }])).toMatchObject({ rows: 7, topMm: 13 });
  });

  it('have hair in the last where the lowest sample lies on its upper edge', () => {
    // From 13 down to -5 are three rows of 6 exactly.
    const { rows, mm } = gridOf([{ z: 10 }, { z: -5 }]);
    expect(rows).toBe(4);
    expect(mm[5]).toBeCloseTo(4, 5);
    expect(mm[3 * 72 + 5]).toBeCloseTo(4, 5);
  });

  it('are one row of nothing without hair', () => {
    expect(gridOf([])).toEqual({ columns: 72, rows: 1, topMm: 0, mm: new Float32Array(72) });
  });
});

describe('evening out', () => {
  // Of two neighbours each becomes (2 own + other) / 3: their difference falls to a third, five times: to 1/243.
  const apart = (a: Sample, b: Sample) => {
    const { mm } = gridOf([
      { areaMm2: areaFor(4), ...a },
      { areaMm2: areaFor(8), ...b },
    ]);
    return [...mm].filter((thick) => thick > 0).sort((x, y) => x - y);
  };

  it.each([
    { name: 'to the right', a: { z: 10, column: 5 }, b: { z: 10, column: 6 } },
    { name: 'to the left', a: { z: 10, column: 6 }, b: { z: 10, column: 5 } },
    { name: 'round behind', a: { z: 10, column: 71 }, b: { z: 10, column: 0 } },
    { name: 'round behind the other way', a: { z: 10, column: 0 }, b: { z: 10, column: 71 } },
    { name: 'below', a: { z: 10 }, b: { z: 4 } },
    { name: 'above', a: { z: 4 }, b: { z: 10 } },
  ])('brings neighbours $name together', ({ a, b }) => {
    const [low, high] = apart(a, b);
    expect(low).toBeCloseTo(6 - 2 / 243, 4);
    expect(high).toBeCloseTo(6 + 2 / 243, 4);
  });

  it.each([
    { name: 'two columns off', a: { z: 10, column: 5 }, b: { z: 10, column: 7 } },
    { name: 'across a corner', a: { z: 10, column: 5 }, b: { z: 4, column: 6 } },
    { name: 'at the end of the row above', a: { z: 10, column: 71 }, b: { z: 4, column: 0 } },
    { name: 'in the last row', a: { z: 10 }, b: { z: -20 } },
  ])('leaves cells alone that are no neighbours: $name', ({ a, b }) => {
    const [low, high] = apart(a, b);
    expect(low).toBeCloseTo(4, 5);
    expect(high).toBeCloseTo(8, 5);
  });

  it('leaves an even layer as it is, in its middle and at its edges', () => {
    const cross = [
      { z: 10, column: 5 },
      { z: 4, column: 4 },
      { z: 4, column: 5 },
      { z: 4, column: 6 },
      { z: -2, column: 5 },
    ];
    const held = [...gridOf(cross).mm].filter((mm) => mm > 0);
    expect(held).toHaveLength(5);
    for (const mm of held) expect(mm).toBeCloseTo(4, 5);
  });
});

describe('thicknessByHeight', () => {
  it('is the mean over the cells of a row that have hair, at the middle of the row', () => {
    const grid = { columns: 3, rows: 2, topMm: 12, mm: Float32Array.of(0, 2, 4, 0, 0, 0) };
    expect(thicknessByHeight(grid)).toEqual([
      { zMm: 9, thicknessMm: 3 },
      { zMm: 3, thicknessMm: 0 },
    ]);
  });
});

describe('hair', () => {
  it.each([
    { body: { perMm2: 0.19, diameterUm: 70 }, field: 'perMm2' },
    { body: { perMm2: 4.1, diameterUm: 70 }, field: 'perMm2' },
    { body: { perMm2: 1.7, diameterUm: 19 }, field: 'diameterUm' },
    { body: { perMm2: 1.7, diameterUm: 151 }, field: 'diameterUm' },
  ])('is refused beyond what grows: $body', ({ body, field }) => {
    expect(() => one({}, body)).toThrow(expect.objectContaining({ code: 'ENGINE.OUT_OF_RANGE', field }));
  });
});
