import { expect, it } from '@jest/globals';
import fc from 'fast-check';
import { Temporal } from 'temporal-polyfill';
import { localDays, type ResourceKind, type Stretch, workingStretches } from '../salon/index.js';
import { freeSlots } from './free-slots.js';

const CELL = 5 * 60_000;
const KINDS: readonly ResourceKind[] = ['chair', 'wash-basin'];

const minutes = fc.integer({ min: 1, max: 8 }).map((n) => n * 5);
const kinds = fc.subarray([...KINDS]);
const middle = fc.array(
  fc.record({
    activity: fc.constantFrom('active' as const, 'processing' as const),
    minutes,
    resources: kinds,
  }),
  { maxLength: 4 },
);
/** Stretches that do not overlap, in five-minute cells from the first midnight in UTC: pairs of idle and held time. */
const row = fc.array(fc.tuple(fc.integer({ min: 0, max: 40 }), fc.integer({ min: 1, max: 20 })), {
  maxLength: 25,
});
const book = fc.record({
  zone: fc.constantFrom('Europe/London', 'America/New_York', 'Australia/Sydney'),
  // Around changes of the clock in each of them, IANA tzdata 2025b, and a week without.
  from: fc.constantFrom('2027-03-13', '2027-03-27', '2027-04-03', '2027-10-02', '2027-10-30', '2026-06-09'),
  breakAt: fc.integer({ min: 120, max: 200 }),
  stylists: fc.array(row, { minLength: 1, maxLength: 2 }),
  chairs: fc.array(row, { maxLength: 2 }),
  basins: fc.array(row, { maxLength: 2 }),
  middle,
  whole: kinds,
  shortest: minutes,
});

const clock = (cell: number) =>
  `${String(Math.floor(cell / 12)).padStart(2, '0')}:${String((cell % 12) * 5).padStart(2, '0')}`;

it('finds what trying every quarter-hour cell by cell finds, with steps and resources, on random books', () => {
  let slots = 0;
  fc.assert(
    fc.property(book, ({ zone, from, breakAt, stylists, chairs, basins, middle, whole, shortest }) => {
      const ends = { activity: 'active' as const, minutes: 10, resources: [] };
      const steps = [ends, ...middle, ends];
      const length = steps.reduce((sum, step) => sum + step.minutes, 0);
      const to = Temporal.PlainDate.from(from).add({ days: 1 }).toString();
      const midnight = Date.parse(`${from}T00:00Z`);
      const heldOf = (pairs: readonly (readonly [number, number])[]): Stretch[] => {
        let at = midnight;
        return pairs.map(([idle, held]) => {
          const startsAt = at + idle * CELL;
          at = startsAt + held * CELL;
          return { startsAt, endsAt: at };
        });
      };
      const week = [1, 2, 3, 4, 5, 6, 7].flatMap((weekday) => [
        { weekday, startsAt: '00:00', endsAt: clock(breakAt) },
        { weekday, startsAt: clock(breakAt + 6), endsAt: '22:00' },
      ]);
      const days = localDays(zone, from, to);
      const stretches = workingStretches(days, week, []);
      const own = stylists.map(heldOf);
      const rows = { chair: chairs.map(heldOf), 'wash-basin': basins.map(heldOf), room: [] };
      const fast = freeSlots(
        own.map((held, i) => ({ staffId: `s${i}`, stretches, held })),
        days,
        {
          lengthMinutes: length,
          plan: { steps, resources: whole },
          shortestMinutes: shortest,
          notBefore: midnight,
        },
        new Map(KINDS.map((kind) => [kind, rows[kind]])),
      );

      // The slow way. What is free of a row in a cell; what every step needs in each of its cells.
      const holds = (held: readonly Stretch[], cell: number) =>
        held.some(({ startsAt, endsAt }) => startsAt <= cell && cell < endsAt);
      const known = new Map<number, boolean>();
      const works = (cell: number): boolean => {
        const answer = known.get(cell) ?? worksAt(cell);
        known.set(cell, answer);
        return answer;
      };
      const worksAt = (cell: number): boolean => {
        const at = Temporal.Instant.fromEpochMilliseconds(cell).toZonedDateTimeISO(zone);
        const time = at.toPlainTime().toString().slice(0, 5);
        // The clock shows the end of the break twice on some nights; work resumes when it first does.
        const [rest, resume] = [clock(breakAt), clock(breakAt + 6)].map(
          (text) => at.toPlainDate().toZonedDateTime({ timeZone: zone, plainTime: text! }).epochMilliseconds,
        );
        return time < '22:00' && !(rest! <= cell && cell < resume!);
      };
      const cellsOf = (needs: (step: (typeof steps)[number]) => boolean, startsAt: number): number[][] => {
        const runs: number[][] = [];
        let at = startsAt;
        let open = false;
        for (const step of steps) {
          const cells = Array.from({ length: step.minutes / 5 }, (_, i) => at + i * CELL);
          at += step.minutes * 60_000;
          if (needs(step)) {
            if (open) runs.at(-1)!.push(...cells);
            else runs.push(cells);
          }
          open = needs(step);
        }
        return runs;
      };
      const slow: string[] = [];
      for (const [i, held] of own.entries()) {
        for (const day of days) {
          for (let quarter = 0; quarter < 1440; quarter += 15) {
            if (!day.exists(quarter)) continue;
            const startsAt = day.at(quarter);
            if (startsAt < midnight) continue;
            const atWork = cellsOf(({ activity }) => activity === 'active', startsAt).flat();
            const sameDay = atWork.every((cell) => day.startsAt <= cell && cell < day.endsAt);
            if (!sameDay || !atWork.every((cell) => works(cell) && !holds(held, cell))) continue;
            const equipped = KINDS.every((kind) => {
              const runs = cellsOf(
                ({ resources }) => whole.includes(kind) || resources.includes(kind),
                startsAt,
              );
              return runs.every((run) => rows[kind].some((busy) => !run.some((cell) => holds(busy, cell))));
            });
            if (equipped) slow.push(`s${i} ${startsAt}`);
          }
        }
      }
      slots += slow.length;
      expect(fast.map(({ staffId, startsAt }) => `${staffId} ${startsAt}`)).toEqual(slow);
    }),
    { numRuns: 40 },
  );
  expect(slots).toBeGreaterThan(300);
});

it('counts what is lost beside its steps, but not its own processing time', () => {
  const days = localDays('UTC', '2026-06-01', '2026-06-01');
  const stretches = workingStretches(days, [{ weekday: 1, startsAt: '09:00', endsAt: '11:30' }], []);
  const at = (time: string) => Date.parse(`2026-06-01T${time}Z`);
  const steps = [
    { activity: 'active' as const, minutes: 15 },
    { activity: 'processing' as const, minutes: 30 },
    { activity: 'active' as const, minutes: 15 },
  ];
  const rules = { lengthMinutes: 60, plan: { steps }, shortestMinutes: 20, notBefore: 0 };
  const lost = (held: Stretch[]) =>
    freeSlots([{ staffId: 'm', stretches, held }], days, rules).map(({ time, lostMinutes }) => [
      time,
      lostMinutes,
    ]);
  expect(lost([])).toEqual([
    ['09:00', 0],
    ['09:15', 15],
    ['09:30', 0],
    ['09:45', 0],
    ['10:00', 0],
    ['10:15', 15],
    ['10:30', 0],
  ]);
  // Another is served from 09:30 to 09:45: a start at 09:00 loses the 15 minutes before her, one at 09:15 those before
  // itself and those after her.
  expect(lost([{ startsAt: at('09:30'), endsAt: at('09:45') }])).toEqual([
    ['09:00', 15],
    ['09:15', 30],
    ['09:45', 0],
    ['10:00', 15],
    ['10:15', 15],
    ['10:30', 0],
  ]);
});
