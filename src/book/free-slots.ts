import { type LocalDay, type ResourceKind, type Stretch, timeOf, type WorkStretch } from '../salon/index.js';
import { layOut, type Need, type Plan } from './layout.js';

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
  /** Steps that add up to the length, and resources; without them the stylist is at work all through. */
  readonly plan?: Plan;
  /** Shortest service on offer: time left between two appointments that is shorter than this is lost. */
  readonly shortestMinutes: number;
  /** No slot starts before this instant. */
  readonly notBefore: number;
};

/** What is held of each resource of a kind, in order of start; without any row, there is none of the kind. */
export type HeldResources = ReadonlyMap<ResourceKind, readonly (readonly Stretch[])[]>;

export type FreeSlot = Stretch & {
  readonly staffId: string;
  /** Local date and wall-clock time 'HH:MM' of the start. */
  readonly date: string;
  readonly time: string;
  /** Minutes before, after and beside its steps in which no service fits. */
  readonly lostMinutes: number;
};

/**
 * Every start on the 15-minute grid of the wall clock at which all active steps fit into work that nothing holds and a
 * resource of every needed kind is free; by stylist, then time. A time in a skipped hour is no start, and of a doubled
 * hour only the first pass is sold. `days` must cover the stretches and be in order.
 */
export function freeSlots(
  stylists: readonly StylistTime[],
  days: readonly LocalDay[],
  rules: SlotRules,
  resources: HeldResources = new Map(),
): FreeSlot[] {
  const starts = new Map(days.map((day) => [day.date, gridOf(day)]));
  const lengthMs = rules.lengthMinutes * MINUTE_MS;
  const shortestMs = rules.shortestMinutes * MINUTE_MS;
  const layout = layOut({ startsAt: 0, endsAt: lengthMs }, rules.plan ?? {});
  const equipped = equippedAt(layout.needs, resources);
  const slots: FreeSlot[] = [];
  for (const { staffId, stretches, held } of stylists) {
    for (const gaps of byDate(gapsOf(stretches, held, rules.notBefore))) {
      const { date } = gaps[0]!;
      const grid = starts.get(date) ?? [];
      for (const [place, gap] of gaps.entries()) {
        for (let i = firstAtOrAfter(grid, gap.startsAt); i < grid.length; i++) {
          const { startsAt, time } = grid[i]!;
          if (startsAt + layout.active[0]!.endsAt > gap.endsAt) break;
          const lostMs = lostIn(gaps, place, startsAt, layout.active, shortestMs);
          if (lostMs < 0 || !equipped(startsAt)) continue;
          const endsAt = startsAt + lengthMs;
          slots.push({ staffId, date, time, startsAt, endsAt, lostMinutes: lostMs / MINUTE_MS });
        }
      }
    }
  }
  return slots;
}

/**
 * Milliseconds too short for any service that the steps would leave in a day's gaps, the first step lying in the gap at
 * `place`; -1 when a later step does not fit. Processing time by itself counts as no loss: it is the same at any start.
 */
function lostIn(
  gaps: readonly Stretch[],
  place: number,
  startsAt: number,
  steps: readonly Stretch[],
  shortestMs: number,
): number {
  const lost = (gapMs: number) => (gapMs < shortestMs ? gapMs : 0);
  let at = place;
  let sum = lost(startsAt - gaps[at]!.startsAt);
  for (let k = 0; k < steps.length; k++) {
    const stepEnd = startsAt + steps[k]!.endsAt;
    const next = steps[k + 1];
    const gapEnd = gaps[at]!.endsAt;
    if (!next) return sum + lost(gapEnd - stepEnd);
    const nextStart = startsAt + next.startsAt;
    const nextEnd = startsAt + next.endsAt;
    if (nextEnd <= gapEnd) continue;
    sum += lost(gapEnd - stepEnd);
    while (at < gaps.length && gaps[at]!.endsAt < nextEnd) at++;
    if (at === gaps.length || gaps[at]!.startsAt > nextStart) return -1;
    sum += lost(nextStart - gaps[at]!.startsAt);
  }
  return sum;
}

/** Whether something of every needed kind is free for a start; remembered, as many stylists ask about the same start. */
function equippedAt(needs: readonly Need[], resources: HeldResources): (startsAt: number) => boolean {
  if (needs.length === 0) return () => true;
  const known = new Map<number, boolean>();
  const isFree = (held: readonly Stretch[], from: number, to: number): boolean => {
    // Claims on one resource never overlap, so the last one that starts before the end is the one that could reach in.
    const last = held[firstAtOrAfter(held, to) - 1];
    return last === undefined || last.endsAt <= from;
  };
  return (startsAt) => {
    let answer = known.get(startsAt);
    if (answer === undefined) {
      answer = needs.every((need) =>
        resources
          .get(need.kind)
          ?.some((held) => isFree(held, startsAt + need.startsAt, startsAt + need.endsAt)),
      );
      known.set(startsAt, answer);
    }
    return answer;
  };
}

function byDate(gaps: readonly WorkStretch[]): WorkStretch[][] {
  const days: WorkStretch[][] = [];
  for (const gap of gaps) {
    const last = days.at(-1);
    if (last && last[0]!.date === gap.date) last.push(gap);
    else days.push([gap]);
  }
  return days;
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

/** Place of the first one that does not start before `least`, in order of start. */
function firstAtOrAfter(grid: readonly { readonly startsAt: number }[], least: number): number {
  let low = 0;
  let high = grid.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (grid[middle]!.startsAt < least) low = middle + 1;
    else high = middle;
  }
  return low;
}
