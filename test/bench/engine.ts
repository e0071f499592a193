import { Bench } from 'tinybench';
import { type CutFormula, cutHead } from '../../src/engine/cut/index.js';
import { buildHead } from '../../src/engine/head/index.js';
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

export interface BenchRow {
  readonly name: string;
  readonly value: number;
  readonly unit: 'ms' | 'µs' | 'MB' | 'ratio' | 'rows/s' | '/s';
  /** What the value must stay under; null where it is only reported. */
  readonly budget: number | null;
}

export interface EngineBenchOptions {
  /** Time in ms given to each row. */
  readonly timeMs?: number;
  /** How often the whole way is run to see whether memory stays flat. */
  readonly memoryRuns?: number;
}

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

/**
 * Times the engine on 4,000 roots, head and fall table ready, and watches the heap over many runs. Medians; run under
 * --expose-gc for the memory row to mean something.
 */
export async function benchEngine(options: EngineBenchOptions = {}): Promise<BenchRow[]> {
  const { timeMs = 1500, memoryRuns = 10_000 } = options;
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
    { name: 'formula to outline, side and back', run: whole, budget: 8 },
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
  ];
  const bench = new Bench({ time: timeMs, warmupTime: timeMs / 3 });
  for (const { name, run } of rows) {
    bench.add(name, () => {
      run();
    });
  }
  await bench.run();
  const timed = rows.map(({ name, budget }): BenchRow => {
    const result = bench.getTask(name)?.result;
    if (result?.state !== 'completed') throw new Error(`The bench "${name}" did not complete.`);
    return { name, value: result.latency.p50, unit: 'ms', budget };
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
