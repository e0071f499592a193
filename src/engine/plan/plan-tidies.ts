import { EngineError, requireNumber } from '../errors.js';
import { addDays, ageProfile, daysBetween, type GrowthProfile, zoneName } from '../growth/index.js';
import type { Zone } from '../zones.js';
import { cheapestVisits } from './cheapest-visits.js';
import { type ZoneHold, zoneHolds } from './hold-days.js';
import { type HoldLimit, limitInWords, type ZoneLeft } from './limits.js';

export interface CutService {
  readonly name: string;
  /** In any one unit, the salon's smallest coin for choice. */
  readonly price: number;
  readonly minutes: number;
}

export interface TidiesInput {
  readonly profile: GrowthProfile;
  /** ISO date of the first day a visit can be booked. */
  readonly from: string;
  /** 182 days, 26 weeks, when not given. */
  readonly horizonDays?: number;
  /** What every zone is cut back to, and when it last was. */
  readonly zones: readonly (ZoneLeft & { readonly cutOn: string })[];
  readonly limits: readonly HoldLimit[];
  readonly full: CutService;
  readonly lastFullOn: string;
  /** A full cut at least every so many weeks. */
  readonly fullEveryWeeks: number;
  readonly tidies: readonly (CutService & { readonly zones: readonly Zone[] })[];
  /** What the client wants least of. */
  readonly wish: 'price' | 'minutes';
  /** What coming costs by itself, in the unit of the wish (the way, an hour off work); 0 when not given. */
  readonly visitCost?: number;
  /** Days the client comes and the stylist works. */
  readonly allowed: (isoDate: string) => boolean;
  /** What the client does now: a full cut every so many days. */
  readonly habitEveryDays?: number;
}

export interface PlannedCut {
  readonly on: string;
  readonly kind: 'full' | 'tidy';
  /** Names of the services booked together. */
  readonly services: readonly string[];
  readonly zones: readonly Zone[];
  readonly price: number;
  readonly minutes: number;
}

export interface ZoneReach {
  readonly zone: Zone;
  readonly limit: HoldLimit;
  /** The longest the zone goes uncut in the plan, what it grows in that time and how long it gets; expected values. */
  readonly uncutDays: number;
  readonly grownMm: number;
  readonly longestMm: number;
}

export interface PlanTotals {
  readonly visits: number;
  readonly price: number;
  readonly minutes: number;
  readonly reach: readonly ZoneReach[];
}

export interface TidiesPlan extends PlanTotals {
  readonly cuts: readonly PlannedCut[];
  readonly habit: (PlanTotals & { readonly pastLimit: readonly Zone[] }) | null;
  /** "4 visits instead of 6 in 26 weeks, the nape never past 12 mm." */
  readonly words: string;
  /** Zones past their limit before the first day allowed, on which the plan then starts with them. */
  readonly overdue: readonly Zone[];
}

/**
 * The cheapest visits that keep every zone within its limits: each visit a full cut or a tidy of some zones, on allowed
 * days only, no zone expected past its limit on any day, a full cut at least every `fullEveryWeeks`. Exact, see
 * {@link cheapestVisits}; ties go to fewer visits, so that nothing free is done without need. Expected values only: how
 * sure a single date is, the window of that visit says.
 *
 * Throws ENGINE.IMPOSSIBLE naming what is in the way when no choice of allowed days can do it.
 */
export function planTidies(input: TidiesInput): TidiesPlan {
  const horizon = Math.trunc(requireNumber(input.horizonDays ?? 182, 'horizonDays', 1, 730));
  const fullEveryDays = 7 * requireNumber(input.fullEveryWeeks, 'fullEveryWeeks', 1, 104);
  const holds = zoneHolds({ ...input, profile: ageProfile(input.profile, input.from) });
  if (holds.length === 0) {
    throw new EngineError(
      'ENGINE.IMPOSSIBLE',
      'limits',
      'No zone has a limit that is ever reached: nothing to plan.',
    );
  }
  const days = Array.from({ length: horizon + 1 }, (_, day) => day).filter((day) =>
    input.allowed(addDays(input.from, day)),
  );
  const firstDay = days[0];
  if (firstDay === undefined) throw inTheWay(holds);
  const sinceCut = holds.map((hold) => daysBetween(leftOf(input, hold.zone).cutOn, input.from));
  const deadlines = holds.map((hold, i) => hold.holdDays - (sinceCut[i] ?? 0));
  const fullDeadline = fullEveryDays - daysBetween(input.lastFullOn, input.from);
  const services = [
    { ...input.full, zones: [] as readonly Zone[], isFull: true },
    ...input.tidies.map((t) => ({ ...t, isFull: false })),
  ];
  for (const service of services) {
    requireNumber(service.price, 'price', 0, 1e9);
    requireNumber(service.minutes, 'minutes', 0, 1440);
  }
  const found = cheapestVisits({
    days,
    horizon,
    holdDays: holds.map((hold) => hold.holdDays),
    // What is overdue cannot be helped before the first day allowed.
    firstDeadlines: deadlines.map((deadline) => (deadline < firstDay ? firstDay : deadline)),
    fullEveryDays,
    firstFullDeadline: Math.max(fullDeadline, firstDay),
    offers: services.map((service) => ({
      zones: holds.flatMap((hold, i) => (service.zones.includes(hold.zone) ? [i] : [])),
      cost: input.wish === 'price' ? service.price : service.minutes,
      secondCost: input.wish === 'price' ? service.minutes : service.price,
      isFull: service.isFull,
    })),
    visitCost: requireNumber(input.visitCost ?? 0, 'visitCost', 0, 1e9),
  });
  if (found === null) throw inTheWay(holds);
  const cuts = found.visits.map(({ day, offers }): PlannedCut => {
    const booked = offers.map((offer) => services[offer] as (typeof services)[number]);
    const isFull = booked.some((service) => service.isFull);
    return {
      on: addDays(input.from, day),
      kind: isFull ? 'full' : 'tidy',
      services: booked.map((service) => service.name),
      zones: input.zones.flatMap(({ zone }) =>
        isFull || booked.some((service) => service.zones.includes(zone)) ? [zone] : [],
      ),
      price: booked.reduce((sum, service) => sum + service.price, 0),
      minutes: booked.reduce((sum, service) => sum + service.minutes, 0),
    };
  });
  const end = addDays(input.from, horizon);
  const plan = totals(input, holds, cuts, end);
  const habit =
    input.habitEveryDays === undefined ? null : habitTotals(input, holds, end, input.habitEveryDays);
  return {
    ...plan,
    cuts,
    habit,
    overdue: holds.flatMap((hold, i) => ((deadlines[i] ?? 0) < firstDay ? [hold.zone] : [])),
    words: inWords(plan, habit, holds, horizon),
  };
}

/** What a zone was left at: every zone that holds for so many days has one, see {@link zoneHolds}. */
function leftOf(input: TidiesInput, zone: Zone): TidiesInput['zones'][number] {
  return input.zones.find((left) => left.zone === zone) as TidiesInput['zones'][number];
}

/** The zone that holds shortest, the first of equals. */
function tightestOf(holds: readonly ZoneHold[]): ZoneHold {
  return holds.reduce((a, b) => (b.holdDays < a.holdDays ? b : a));
}

function inTheWay(holds: readonly ZoneHold[]): EngineError {
  const shortest = tightestOf(holds);
  return new EngineError(
    'ENGINE.IMPOSSIBLE',
    'allowed',
    `No choice of the allowed days keeps every zone within its limit. The ${zoneName(shortest.zone)} holds ${Math.max(0, shortest.holdDays)} days until ${limitInWords(shortest.limit)}: allow more days, widen that limit or offer a tidy of that zone.`,
  );
}

/** What the totals look at. */
type Cut = Pick<PlannedCut, 'on' | 'zones' | 'price' | 'minutes'>;

function totals(
  input: TidiesInput,
  holds: readonly ZoneHold[],
  cuts: readonly Cut[],
  end: string,
): PlanTotals {
  const reach = holds.map(({ zone, limit, growthMmPerDay }): ZoneReach => {
    const left = leftOf(input, zone);
    const dates = [left.cutOn, ...cuts.filter((cut) => cut.zones.includes(zone)).map((cut) => cut.on), end];
    const uncutDays = Math.max(...dates.slice(1).map((date, i) => daysBetween(dates[i] as string, date)));
    const grownMm = growthMmPerDay * uncutDays;
    return { zone, limit, uncutDays, grownMm, longestMm: left.leftMm + grownMm };
  });
  const sum = (value: (cut: Cut) => number) => cuts.reduce((total, cut) => total + value(cut), 0);
  return { visits: cuts.length, price: sum((cut) => cut.price), minutes: sum((cut) => cut.minutes), reach };
}

function habitTotals(
  input: TidiesInput,
  holds: readonly ZoneHold[],
  end: string,
  everyDays: number,
): PlanTotals & { pastLimit: readonly Zone[] } {
  const step = Math.round(requireNumber(everyDays, 'habitEveryDays', 1, 730));
  const cuts: Cut[] = [];
  const zones = input.zones.map(({ zone }) => zone);
  const first = addDays(input.lastFullOn, step);
  for (let on = first < input.from ? input.from : first; on <= end; on = addDays(on, step)) {
    cuts.push({ on, zones, price: input.full.price, minutes: input.full.minutes });
  }
  const all = totals(input, holds, cuts, end);
  const pastLimit = holds.flatMap(({ zone, holdDays }) =>
    all.reach.some((reach) => reach.zone === zone && reach.uncutDays > holdDays) ? [zone] : [],
  );
  return { ...all, pastLimit };
}

function inWords(
  plan: PlanTotals,
  habit: (PlanTotals & { pastLimit: readonly Zone[] }) | null,
  holds: readonly ZoneHold[],
  horizon: number,
): string {
  const { zone } = tightestOf(holds);
  const longestMm = Math.max(...plan.reach.flatMap((reach) => (reach.zone === zone ? reach.longestMm : [])));
  const kept = `the ${zoneName(zone)} never past ${longestMm.toFixed(0)} mm`;
  const span = horizon % 7 === 0 ? `${horizon / 7} weeks` : `${horizon} days`;
  const visits = plan.visits === 1 ? '1 visit' : `${plan.visits} visits`;
  if (habit === null) return `${visits} in ${span}, ${kept}.`;
  const past =
    habit.pastLimit.length === 0
      ? ''
      : `; as it is now, ${habit.pastLimit.map((zone) => `the ${zoneName(zone)}`).join(' and ')} would pass the limit`;
  return `${visits} instead of ${habit.visits} in ${span}, ${kept}${past}.`;
}
