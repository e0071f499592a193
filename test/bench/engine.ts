import { Bench } from 'tinybench';
import { type CutFormula, cutHead } from '../../src/engine/cut/index.js';
import {
  growthPrior,
  initialProfile,
  type LengthObservation,
  observeVisit,
} from '../../src/engine/growth/index.js';
import { buildHead } from '../../src/engine/head/index.js';
import { rebookingWindow } from '../../src/engine/plan/index.js';
import {
  buildFallTable,
  drawShape,
  evenRates,
  growLengths,
  growShape,
  hairShape,
  landmarkReadings,
  outlineFrom,
  silhouette,
  weightWindowOf,
} from '../../src/engine/shape/index.js';
import type { BenchOptions, BenchRow } from './row.js';

/** A stacked bob with a fringe: graduation, blending, a line as it falls: a usual day's formula. */
const FORMULA: CutFormula = {
  steps: [
    {
      kind: 'travelling',
      zones: ['nape', 'back', 'crown'],
      guide: { kind: 'length', lengthMm: 30 },
      section: 'horizontal',
      elevationDegrees: 45,
    },
    {
      kind: 'natural-fall',
      zones: ['left-side', 'right-side', 'top'],
      anchor: 'tragionLeft',
      belowMm: 50,
      dropToFaceDegrees: 10,
    },
    { kind: 'natural-fall', zones: ['fringe'], anchor: 'brow' },
  ],
};
const MOST_GAINED_MB = 2;

/** What is measured on arrival when four zones are, and the shape's limits afterwards. */
const MEASURED: readonly LengthObservation[] = (['nape', 'back', 'top', 'fringe'] as const).map(
  (zone, i) => ({
    zone,
    leftMm: 10 + 20 * i,
    leftSdMm: 1,
    days: 35,
    measuredMm: 22 + 20 * i,
    measuredSdMm: 5,
    on: '2026-06-01',
  }),
);

/** What is learned from a visit's measurements, and the window of the shape that is then cut. */
function posteriorAndWindow(): unknown {
  const { profile } = observeVisit(initialProfile(growthPrior()), MEASURED);
  return rebookingWindow({
    profile,
    cutOn: '2026-06-01',
    zones: MEASURED.map(({ zone, leftMm, leftSdMm }) => ({ zone, leftMm, leftSdMm })),
    limits: [
      { kind: 'grown-by', zone: 'nape', mm: 8 },
      { kind: 'grown-by', zone: 'back', mm: 20 },
      { kind: 'longer-than', zone: 'fringe', mm: 90 },
    ],
  });
}

/** Milliseconds of processor time so far: other work on the machine is left out. */
function processorNow(): number {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
}

/**
 * Times the engine in processor time on 4,000 roots, head and fall table ready, and watches the heap over many runs. Medians, from the
 * least to the third quartile; run under --expose-gc for the memory row to mean something.
 */
export async function benchEngine({ quick }: BenchOptions): Promise<BenchRow[]> {
  const [timeMs, memoryRuns] = quick ? [200, 200] : [2000, 10_000];
  const head = buildHead();
  const fall = buildFallTable(head);
  const rates = evenRates(0.35);
  const shapeNow = () => hairShape(head, fall, cutHead(head, fall, FORMULA).lengthMm);
  const whole = () => {
    const drawn = silhouette(shapeNow());
    return [outlineFrom(drawn, 'right'), outlineFrom(drawn, 'back')];
  };
  const shape = shapeNow();
  const ready = silhouette(shape);
  const words = { id: 'b', title: 'Right profile', description: 'Bench' };

  const rows: { name: string; run: () => unknown; budget: number | null }[] = [
    { name: 'lengths, fall, outlines of side and back', run: whole, budget: 8 },
    { name: 'grow to another date: lengths and tips', run: () => growShape(shape, rates, 35), budget: 1 },
    {
      name: '  of it: lengths alone',
      run: () => growLengths(shape.lengthsMm, head.roots.zone, rates, 35),
      budget: null,
    },
    { name: 'formula to lengths', run: () => cutHead(head, fall, FORMULA), budget: null },
    { name: 'lengths to strands, thickness and lift', run: () => silhouette(shape), budget: null },
    { name: 'one outline', run: () => outlineFrom(ready, 'right'), budget: null },
    { name: 'weight line', run: () => weightWindowOf(shape), budget: null },
    { name: 'landmark readings', run: () => landmarkReadings(shape), budget: null },
    { name: 'one drawing as SVG', run: () => drawShape(ready, 'right', words), budget: null },
    {
      name: 'a head and its fall table, once a client',
      run: () => buildFallTable(buildHead()),
      budget: null,
    },
    { name: 'posterior of a visit and window', run: posteriorAndWindow, budget: 1 },
  ];
  const bench = new Bench({ now: processorNow, time: timeMs, warmupTime: timeMs / 2 });
  for (const { name, run } of rows) {
    bench.add(name, () => {
      run();
    });
  }
  await bench.run();
  const timed = rows.map(({ name, budget }): BenchRow => {
    const result = bench.getTask(name)?.result;
    if (result?.state !== 'completed') throw new Error(`The bench "${name}" did not complete.`);
    const { min, p50, p75 } = result.latency;
    return { name, value: p50, unit: 'ms', budget, spread: [min, p75] };
  });
  return [...timed, memoryRow(whole, memoryRuns)];
}

/** Growth of heap and buffers over the second half of the runs, when caches are warm. */
function memoryRow(run: () => unknown, runs: number): BenchRow {
  const half = Math.ceil(runs / 2);
  for (let i = 0; i < half; i += 1) run();
  const before = heldMb();
  for (let i = 0; i < half; i += 1) run();
  return {
    name: `memory gained over ${2 * half} runs`,
    value: heldMb() - before,
    unit: 'MB',
    budget: MOST_GAINED_MB,
  };
}

function heldMb(): number {
  globalThis.gc?.();
  globalThis.gc?.();
  const { heapUsed, arrayBuffers } = process.memoryUsage();
  return (heapUsed + arrayBuffers) / 2 ** 20;
}
