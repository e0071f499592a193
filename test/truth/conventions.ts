import { clockChangeOn, instantAt, parseLength } from '../../src/base/index.js';
import type { TruthRow } from './row.js';

const HOUR_MS = 3_600_000;

/** Changes of the clock, in UTC. */
const CHANGES = [
  ['Europe/London', ['2026-03-29T01', '2026-10-25T01', '2027-03-28T01', '2027-10-31T01']],
  ['America/New_York', ['2026-03-08T07', '2026-11-01T06', '2027-03-14T07', '2027-11-07T06']],
  // The day in Sydney is the one after.
  ['Australia/Sydney', ['2026-04-04T16', '2026-10-03T16', '2027-04-03T16', '2027-10-02T16']],
] as const;

export function conventionTruths(): TruthRow[] {
  const ruler = { units: 'cm', fingerWidthMm: 18 } as const;
  const typed = (text: string) => parseLength(text, 'length', ruler) ?? Number.NaN;
  const inch = 'international yard and pound agreement 1959: 25.4 mm exactly';
  const utc = (instant: number) => instant / HOUR_MS;
  return [
    { what: 'typed “1 in”, mm', source: inch, theirs: 25.4, ours: typed('1 in'), tolerance: 1e-12 },
    // Lengths are kept to the hundredth of a millimetre.
    { what: 'typed “⅜ in”, mm', source: inch, theirs: 9.525, ours: typed('⅜ in'), tolerance: 0.005 + 1e-9 },
    ...CHANGES.flatMap(([zone, instants]) =>
      instants.map((hour): TruthRow => {
        const at = Date.parse(`${hour}:00Z`);
        const date = new Intl.DateTimeFormat('en-CA', { timeZone: zone }).format(at);
        return {
          what: `change of the clock, ${zone} ${date}, hours since 1970 in UTC`,
          source: 'IANA tzdata 2025b',
          theirs: utc(at),
          ours: utc(clockChangeOn(zone, date)?.at ?? Number.NaN),
          tolerance: 0,
        };
      }),
    ),
    {
      what: 'New York 2007-11-04 01:30, which comes twice: the first, hours since 1970 in UTC',
      source: 'RFC 5545, section 3.3.5',
      theirs: utc(Date.parse('2007-11-04T05:30Z')),
      ours: utc(instantAt('America/New_York', '2007-11-04', '01:30')),
      tolerance: 0,
    },
    {
      what: 'New York 2007-03-11 02:30, which there is not, hours since 1970 in UTC',
      source: 'RFC 5545, section 3.3.5',
      theirs: utc(Date.parse('2007-03-11T07:30Z')),
      ours: utc(instantAt('America/New_York', '2007-03-11', '02:30')),
      tolerance: 0,
    },
  ];
}
