import type { DayEntry } from './day-view.js';
import { counted } from './words.js';

const MINUTE_MS = 60_000;
/** Who is due within this time is looked out for (ours). */
const EXPECTED_WITHIN_MINUTES = 60;

export type NowLine = DayEntry & { readonly staffName: string };

const minutes = (from: number, to: number) => Math.floor((to - from) / MINUTE_MS);

/**
 * Who is where at this moment, in the order somebody at the desk acts: late, waiting, in the chair, expected within the
 * hour; and what the day has come to. `said` tells in plain words since when or for how long.
 */
export function nowView(lines: readonly NowLine[], now: number) {
  const told = (line: NowLine, said: string) => ({ ...line, said });
  const inOrder = [...lines].sort((a, b) => a.startsAt - b.startsAt);
  const booked = inOrder.filter(({ state }) => state === 'booked');
  const here = inOrder.filter(({ state }) => state === 'arrived');
  return {
    late: booked
      .filter(({ late, endsAt }) => late > 0 || now >= endsAt)
      .map((line) => told(line, line.late > 0 ? `${line.late} min late` : 'has not come; the time is over')),
    waiting: here
      .filter(({ seatedAt }) => !seatedAt)
      .map((line) => told(line, line.arrivedAt ? `here for ${minutes(line.arrivedAt, now)} min` : 'here')),
    chair: here
      .filter(({ seatedAt }) => seatedAt)
      .map((line) => {
        const over = minutes(line.endsAt, now);
        return told(line, over > 0 ? `${over} min over` : `until ${line.endTime}`);
      }),
    expected: booked
      .filter(({ late, startsAt, endsAt }) => {
        const ahead = minutes(now, startsAt);
        return late === 0 && now < endsAt && ahead <= EXPECTED_WITHIN_MINUTES;
      })
      .map((line) => told(line, now < line.startsAt ? `in ${minutes(now, line.startsAt)} min` : 'due now')),
    done: inOrder.filter(({ state }) => state === 'done'),
    noShows: inOrder.filter(({ state }) => state === 'no-show'),
    ahead: counted(booked.filter(({ endsAt }) => now < endsAt).length, 'client'),
  };
}
