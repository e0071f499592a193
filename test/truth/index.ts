import { verdictOf } from './row.js';
import { CLIENTS, TRUTHS } from './truths.js';

/** Prints the whole table, part by part; `npm run truth -- growth plan` prints some. Ends with 1 where a row fails. */
const asked = process.argv.slice(2);
const unknown = asked.filter((name) => !(name in TRUTHS));
if (unknown.length > 0) {
  console.error(`There is no part ${unknown.join(', ')}: choose from ${Object.keys(TRUTHS).join(', ')}.`);
  process.exit(2);
}

const digits = (value: number) => (Math.abs(value) >= 1e5 ? value.toFixed(3) : Number(value.toPrecision(7)));
let failed = 0;
let judged = 0;
for (const [part, rows] of Object.entries(TRUTHS)) {
  if (asked.length > 0 && !asked.includes(part)) continue;
  console.log(`\n${part}`);
  console.table(
    rows(CLIENTS).map((row) => {
      const verdict = verdictOf(row);
      if (verdict !== 'told') judged += 1;
      if (verdict === 'FAIL') failed += 1;
      return {
        what: row.what,
        source: row.fromMemory ? `${row.source} (from memory)` : row.source,
        theirs: digits(row.theirs),
        ours: digits(row.ours),
        difference: Number((row.ours - row.theirs).toPrecision(2)),
        tolerance: row.tolerance ?? '',
        verdict,
      };
    }),
  );
}
console.log(`${judged - failed} of ${judged} rows pass.`);
process.exit(failed > 0 ? 1 : 0);
