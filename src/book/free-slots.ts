import { type LocalDay, type Stretch, timeOf, type WorkStretch } from '../salon/index.js';

const MINUTE_MS = 60_000;
const DAY_MINUTES = 1440;

/** Where suggested starts stand on the salon's wall clock. */
export const GRID_MINUTES = 15;

/** A stylist's time: stretches of work in order, and what is held of it, in order of start. */
export type StylistTime = {
  readonly staffId: string;
  readonly stretches: readonly WorkStretch[];
  readonly held: readonly Stretch[];
};

export type SlotRules = {
  readonly lengthMinutes: number;
  /** Shortest service on offer: time left between two appointments that is shorter than this is lost. */
  readonly shortestMinutes: number;
  /** No slot starts before this instant. */
  readonly notBefore: number;
};

export type FreeSlot = Stretch & {
  readonly staffId: string;
  /** Local date and wall-clock time 'HH:MM' of the start. */
  readonly date: string;
  readonly time: string;
  /** Minutes before and after it in which no service fits. */
  readonly lostMinutes: number;
};

/**
 * Every start on the 15-minute grid of the wall clock at which the length fits into work that nothing holds; by
 * stylist, then time. A time in a skipped hour is no start, and of a doubled hour only the first pass is sold.
 * `days` must cover the stretches and be in order.
 */
export function freeSlots(
  stylists: readonly StylistTime[],
  days: readonly LocalDay[],
  rules: SlotRules,
): FreeSlot[] {
  const starts = new Map(days.map((day) => [day.date, gridOf(day)]));
  const lengthMs = rules.lengthMinutes * MINUTE_MS;
  const shortestMs = rules.shortestMinutes * MINUTE_MS;
  const lost = (gapMs: number) => (gapMs < shortestMs ? gapMs / MINUTE_MS : 0);
  const slots: FreeSlot[] = [];
  for (const { staffId, stretches, held } of stylists) {
    for (const gap of gapsOf(stretches, held, rules.notBefore)) {
      const grid = starts.get(gap.date) ?? [];
      for (let i = firstAtOrAfter(grid, gap.startsAt); i < grid.length; i++) {
        const { startsAt, time } = grid[i]!;
        const endsAt = startsAt + lengthMs;
        if (endsAt > gap.endsAt) break;
        const lostMinutes = lost(startsAt - gap.startsAt) + lost(gap.endsAt - endsAt);
        slots.push({ staffId, date: gap.date, time, startsAt, endsAt, lostMinutes });
      }
    }
  }
  return slots;
}

type GridTime = { readonly time: string; readonly startsAt: number };

function gridOf(day: LocalDay): GridTime[] {
  const grid: GridTime[] = [];
  for (let minutes = 0; minutes < DAY_MINUTES; minutes += GRID_MINUTES) {
    if (day.exists(minutes)) grid.push({ time: timeOf(minutes), startsAt: day.at(minutes) });
  }
  return grid;
}

/** What is left of the work from `notBefore` on when everything held is taken out. */
function gapsOf(
  stretches: readonly WorkStretch[],
  held: readonly Stretch[],
  notBefore: number,
): WorkStretch[] {
  const gaps: WorkStretch[] = [];
  let next = 0;
  for (const stretch of stretches) {
    let from = Math.max(stretch.startsAt, notBefore);
    while (next < held.length && held[next]!.endsAt <= from) next++;
    for (let i = next; i < held.length && held[i]!.startsAt < stretch.endsAt; i++) {
      const { startsAt, endsAt } = held[i]!;
      if (startsAt > from) gaps.push({ date: stretch.date, startsAt: from, endsAt: startsAt });
      from = Math.max(from, endsAt);
    }
    if (from < stretch.endsAt) gaps.push({ date: stretch.date, startsAt: from, endsAt: stretch.endsAt });
  }
  return gaps;
}

/** Place of the first start not before `least`. */
function firstAtOrAfter(grid: readonly GridTime[], least: number): number {
  let low = 0;
  let high = grid.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (grid[middle]!.startsAt < least) low = middle + 1;
    else high = middle;
  }
  return low;
}
