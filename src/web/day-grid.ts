import { instantAt, timeIn } from '../base/index.js';
import type { Stretch } from '../salon/index.js';

const MINUTE_MS = 60_000;
const HOUR_MS = 60 * MINUTE_MS;
const ROW_MINUTES = 5;

/** The scale of one day's column: an instant at a full hour of the wall clock, and how many hours follow it. */
export type Scale = { readonly from: number; readonly hours: number };

/**
 * The scale that holds all of these stretches, in whole hours, cut off at the end of the day; rows count elapsed time,
 * so that on a day of 23 or 25 hours a length is a length. Without any stretch, `usual` by the wall clock.
 */
export function scaleOf(
  stretches: readonly Stretch[],
  day: { readonly zone: string; readonly date: string } & Stretch,
  usual: { readonly from: string; readonly hours: number },
): Scale {
  if (stretches.length === 0) return { from: instantAt(day.zone, day.date, usual.from), hours: usual.hours };
  const first = Math.max(day.startsAt, Math.min(...stretches.map(({ startsAt }) => startsAt)));
  const last = Math.min(day.endsAt, Math.max(...stretches.map(({ endsAt }) => endsAt)));
  const from = Math.max(day.startsAt, first - Number(timeIn(day.zone, first).slice(3)) * MINUTE_MS);
  return { from, hours: Math.max(1, Math.ceil((last - from) / HOUR_MS)) };
}

/** What the clock shows at every hour of the scale; an hour that comes twice says so. */
export function hourLabels({ from, hours }: Scale, zone: string) {
  const shown = Array.from({ length: hours }, (_, i) => timeIn(zone, from + i * HOUR_MS).replace(/^0/, ''));
  return shown.map((label, i) => ({
    place: `h-${i}`,
    label: shown.indexOf(label) < i ? `${label} again` : label,
  }));
}

/** Classes of day-grid.css that place a stretch from its first five minutes to its last. */
export function placeOf({ startsAt, endsAt }: Stretch, { from, hours }: Scale): string {
  const within = (instant: number) => Math.min(Math.max(instant - from, 0), hours * HOUR_MS) / MINUTE_MS;
  const first = Math.floor(within(startsAt) / ROW_MINUTES) * ROW_MINUTES;
  const last = Math.max(Math.ceil(within(endsAt) / ROW_MINUTES) * ROW_MINUTES, first + ROW_MINUTES);
  return `h-${Math.floor(first / 60)} m-${first % 60} to-h-${Math.floor(last / 60)} to-m-${last % 60}`;
}

/** Time of an appointment in which its stylist is free for others. */
export type Rest = Stretch & { readonly id: string };

export const meet = (a: Stretch, b: Stretch) => a.startsAt < b.endsAt && b.startsAt < a.endsAt;

/** A lane for each rest, so that rests at one time lie beside each other; the earliest in lane 0. */
export function lanesOf(rests: readonly Rest[]): { readonly rest: Rest; readonly lane: number }[] {
  const placed: { rest: Rest; lane: number }[] = [];
  for (const rest of [...rests].sort((a, b) => a.startsAt - b.startsAt)) {
    const taken = new Set(placed.filter((other) => meet(other.rest, rest)).map(({ lane }) => lane));
    let lane = 0;
    while (taken.has(lane)) lane += 1;
    placed.push({ rest, lane });
  }
  return placed;
}

/** How many lanes a block must leave free beside it for the rests of others that go on meanwhile. */
export function indentOf(block: Stretch, lanes: ReturnType<typeof lanesOf>): number {
  return Math.max(0, ...lanes.filter(({ rest }) => meet(rest, block)).map(({ lane }) => lane + 1));
}
