import 'reflect-metadata';
import { type BenchRow, benchEngine } from './engine.js';
import { benchWholeBook } from './whole-book.js';

/** Times every hot path against its limit in one run and prints one table. `npm run bench` builds first. */
const rows: BenchRow[] = [
  ...(await benchEngine()),
  ...(await benchWholeBook(10_000)),
  ...(await benchWholeBook(100_000)),
];

const verdict = ({ value, budget }: BenchRow) => {
  if (budget === null) return '';
  return value <= budget ? 'within' : 'OVER';
};
console.table(
  rows.map((row) => ({
    what: row.name,
    measured: `${row.value.toFixed(3)} ${row.unit}`,
    limit: row.budget === null ? '' : `${row.budget} ${row.unit}`,
    verdict: verdict(row),
  })),
);
if (rows.some((row) => verdict(row) === 'OVER')) process.exitCode = 1;
