/** One line of the table. */
export interface BenchRow {
  readonly name: string;
  /** A median where there is a spread. */
  readonly value: number;
  readonly unit: 'ms' | 'µs' | 'MB' | 'ratio' | 'rows/s' | '/s';
  /** What the value must stay under, or reach where `isLeast`; null where it is only reported. */
  readonly budget: number | null;
  readonly isLeast?: boolean;
  /** Least and most of several rounds. */
  readonly spread?: readonly [number, number];
}

/** How a suite is run. */
export type BenchOptions = {
  /** Small sizes and few rounds: whether it runs at all, and a first guess. */
  readonly quick: boolean;
};

export function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1] ?? Number.NaN;
}

/** A row of what was measured in several rounds: the median, with the least and the most. */
export function spreadRow(
  name: string,
  values: readonly number[],
  unit: BenchRow['unit'],
  budget: number | null = null,
): BenchRow {
  return { name, value: median(values), unit, budget, spread: [Math.min(...values), Math.max(...values)] };
}

/** The same for many short rounds: the quartiles, since the worst of many says only what else the machine did. */
export function quartersRow(
  name: string,
  values: readonly number[],
  unit: BenchRow['unit'],
  budget: number | null = null,
): BenchRow {
  const sorted = [...values].sort((a, b) => a - b);
  const at = (part: number) => sorted[Math.floor(part * (sorted.length - 1))] ?? Number.NaN;
  return { name, value: median(values), unit, budget, spread: [at(0.25), at(0.75)] };
}

/** A row that is only reported. */
export const told = (name: string, value: number, unit: BenchRow['unit']): BenchRow => ({
  name,
  value,
  unit,
  budget: null,
});

export function verdictOf({ value, budget, isLeast = false }: BenchRow): '' | 'kept' | 'MISSED' {
  if (budget === null) return '';
  return (isLeast ? value >= budget : value <= budget) ? 'kept' : 'MISSED';
}
