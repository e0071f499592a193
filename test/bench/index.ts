import 'reflect-metadata';
import { benchSlots } from './book.js';
import { type BenchRow, benchEngine } from './engine.js';
import { benchGroup } from './group.js';
import { benchImports } from './imports.js';
import { benchMessages } from './messages.js';
import { benchReports } from './reports.js';
import { benchWholeBook } from './whole-book.js';

const SUITES: Readonly<Record<string, () => Promise<readonly BenchRow[]>>> = {
  engine: () => benchEngine(),
  book: () => benchSlots(),
  'whole-book': async () => [...(await benchWholeBook(10_000)), ...(await benchWholeBook(100_000))],
  messages: () => benchMessages(),
  reports: () => benchReports(),
  group: () => benchGroup(),
  imports: () => benchImports(Number(process.env['BENCH_ROWS'] ?? 100_000)),
};

/**
 * Times the hot paths against their limits and prints one table; `npm run bench -- engine book` runs some of them.
 * Ratios are of two things measured in the same run, so that a busy machine slows both.
 */
const asked = process.argv.slice(2);
const unknown = asked.filter((name) => !(name in SUITES));
if (unknown.length > 0) {
  console.error(`There is no bench ${unknown.join(', ')}: choose from ${Object.keys(SUITES).join(', ')}.`);
  process.exit(2);
}
const verdict = ({ value, budget }: BenchRow) => {
  if (budget === null) return '';
  return value <= budget ? 'kept' : 'MISSED';
};
const rows: BenchRow[] = [];
for (const [name, run] of Object.entries(SUITES)) {
  if (asked.length > 0 && !asked.includes(name)) continue;
  console.error(`Measuring ${name} …`);
  rows.push(...(await run()));
}
console.table(
  rows.map((row) => ({
    what: row.name,
    measured: `${row.value.toFixed(3)} ${row.unit}`,
    limit: row.budget === null ? '' : `${row.budget} ${row.unit}`,
    verdict: verdict(row),
  })),
);
process.exit(rows.some((row) => verdict(row) === 'MISSED') ? 1 : 0);
