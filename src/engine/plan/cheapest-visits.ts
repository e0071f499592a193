import { EngineError } from '../errors.js';

/** A service that can be booked; `zones` are positions in the caller's list of zones. Costs are not negative. */
export interface Offer {
  readonly zones: readonly number[];
  /** What is made least, and what decides between equals after the number of visits. */
  readonly cost: number;
  readonly secondCost: number;
  /** A full cut takes in every zone and starts the time to the next full cut anew. */
  readonly isFull: boolean;
}

export interface VisitProblem {
  /** Days on which a visit can be booked, ascending, counted from the start of the plan (day 0). */
  readonly days: readonly number[];
  /** The plan must hold up to and including this day. */
  readonly horizon: number;
  /** Whole days a zone holds after it was cut. */
  readonly holdDays: readonly number[];
  /** Last day each zone still holds as things stand at the start. */
  readonly firstDeadlines: readonly number[];
  readonly fullEveryDays: number;
  readonly firstFullDeadline: number;
  readonly offers: readonly Offer[];
  /** What coming costs by itself, in the unit of `cost`. */
  readonly visitCost: number;
}

export interface PlannedVisit {
  readonly day: number;
  /** Positions in `offers`; several tidies may share one visit. */
  readonly offers: readonly number[];
}

export interface CheapestVisits {
  readonly visits: readonly PlannedVisit[];
  readonly cost: number;
  readonly secondCost: number;
}

/** What can be had in one visit. */
interface Bundle {
  readonly offers: readonly number[];
  /** Bit per group of zones, and one more for the full cut's own deadline. */
  readonly covers: number;
  readonly cost: number;
  readonly secondCost: number;
}

interface Label {
  readonly deadlines: readonly number[];
  readonly cost: number;
  readonly count: number;
  readonly secondCost: number;
  readonly dayTotal: number;
  readonly visit: PlannedVisit | null;
  readonly before: Label | null;
}

const MOST_TIDIES = 8;

/**
 * The cheapest visits that keep every zone within its hold up to the horizon: least cost, then fewest visits, then
 * least second cost, then the latest days. So a visit that costs nothing is still not made without need. One visit can
 * take in several tidies. `null` when no choice of visits can do it.
 *
 * Exact dynamic programming over the days. A state is the set of deadlines; zones that every offer treats alike share
 * one. Only visits that something forces are tried, a deadline before the next bookable day: any other visit could wait
 * for that day, alone or joined to the visit already there, at no greater cost. Of two states on one day the one with
 * no later deadline anywhere and no lower cost is dropped, because whatever completes it completes the other.
 *
 * Throws ENGINE.OUT_OF_RANGE for more than 8 tidies.
 */
export function cheapestVisits(problem: VisitProblem): CheapestVisits | null {
  const { groups, holds } = groupZones(problem);
  const bundles = bundlesOf(problem, groups);
  const capped = (day: number) => Math.min(day, problem.horizon);
  let labels: Label[] = [
    {
      deadlines: [
        ...groups.map((zones) => capped(Math.min(...zones.map((zone) => problem.firstDeadlines[zone] ?? 0)))),
        capped(problem.firstFullDeadline),
      ],
      cost: 0,
      count: 0,
      secondCost: 0,
      dayTotal: 0,
      visit: null,
      before: null,
    },
  ];
  problem.days.forEach((day, i) => {
    const needed = Math.min(problem.days[i + 1] ?? problem.horizon, problem.horizon);
    const next: Label[] = [];
    for (const label of labels) {
      const forced = bits(label.deadlines.map((deadline) => deadline < needed));
      if (forced === 0) {
        next.push(label);
        continue;
      }
      // Too late for what ran out before today; nothing brings it back.
      if (label.deadlines.some((deadline) => deadline < day)) continue;
      for (const bundle of bundles) {
        if ((forced & ~bundle.covers) !== 0) continue;
        next.push({
          deadlines: label.deadlines.map((deadline, group) =>
            (bundle.covers >> group) & 1 ? capped(day + (holds[group] ?? problem.fullEveryDays)) : deadline,
          ),
          cost: label.cost + bundle.cost,
          count: label.count + 1,
          secondCost: label.secondCost + bundle.secondCost,
          dayTotal: label.dayTotal + day,
          visit: { day, offers: bundle.offers },
          before: label,
        });
      }
    }
    labels = undominated(next.filter((label) => label.deadlines.every((deadline) => deadline >= needed)));
  });
  const best = labels
    .filter((label) => label.deadlines.every((deadline) => deadline >= problem.horizon))
    .sort(byCost)[0];
  return best === undefined ? null : { visits: visitsOf(best), cost: best.cost, secondCost: best.secondCost };
}

/** Zones that the same offers cut; the one that holds shortest speaks for the group. */
function groupZones(problem: VisitProblem): { groups: number[][]; holds: number[] } {
  const byOffers = new Map<string, number[]>();
  problem.holdDays.forEach((_, zone) => {
    const key = problem.offers.map((offer) => (cuts(offer, zone) ? 1 : 0)).join('');
    byOffers.set(key, [...(byOffers.get(key) ?? []), zone]);
  });
  const groups = [...byOffers.values()];
  return {
    groups,
    holds: groups.map((zones) => Math.min(...zones.map((zone) => problem.holdDays[zone] ?? 0))),
  };
}

/** Every full cut alone and every set of tidies; of those that cover the same the cheapest. */
function bundlesOf(problem: VisitProblem, groups: readonly number[][]): Bundle[] {
  const coverOf = (offer: Offer) =>
    bits([...groups.map((zones) => cuts(offer, zones[0] ?? 0)), offer.isFull]);
  const numbered = problem.offers.map((offer, i) => ({ offer, offers: [i], covers: coverOf(offer) }));
  const tidies = numbered.filter(({ offer }) => !offer.isFull);
  if (tidies.length > MOST_TIDIES) {
    throw new EngineError(
      'ENGINE.OUT_OF_RANGE',
      'tidies',
      `At most ${MOST_TIDIES} kinds of tidy can be planned with.`,
    );
  }
  const all: Bundle[] = numbered
    .filter(({ offer }) => offer.isFull)
    .map(({ offer, offers, covers }) => ({ offers, covers, cost: offer.cost, secondCost: offer.secondCost }));
  let sets: Bundle[] = [{ offers: [], covers: 0, cost: 0, secondCost: 0 }];
  for (const { offer, offers, covers } of tidies) {
    sets = sets.flatMap((set) => [
      set,
      {
        offers: [...set.offers, ...offers],
        covers: set.covers | covers,
        cost: set.cost + offer.cost,
        secondCost: set.secondCost + offer.secondCost,
      },
    ]);
  }
  const cheapest = new Map<number, Bundle>();
  for (const bundle of [...all, ...sets]) {
    const other = cheapest.get(bundle.covers);
    const better =
      other === undefined ||
      bundle.cost < other.cost ||
      (bundle.cost === other.cost && bundle.secondCost < other.secondCost);
    if (better) cheapest.set(bundle.covers, bundle);
  }
  return [...cheapest.values()].map((bundle) => ({ ...bundle, cost: bundle.cost + problem.visitCost }));
}

function cuts(offer: Offer, zone: number): boolean {
  return offer.isFull || offer.zones.includes(zone);
}

function bits(flags: readonly boolean[]): number {
  return flags.reduce((mask, flag, i) => (flag ? mask | (1 << i) : mask), 0);
}

function byCost(a: Label, b: Label): number {
  return a.cost - b.cost || a.count - b.count || a.secondCost - b.secondCost || b.dayTotal - a.dayTotal;
}

/** Sorted by cost, so that a state can only be dropped for one already kept. */
function undominated(labels: Label[]): Label[] {
  const kept: Label[] = [];
  for (const label of labels.sort(byCost)) {
    const beaten = kept.some((other) =>
      other.deadlines.every((deadline, i) => deadline >= (label.deadlines[i] ?? 0)),
    );
    if (!beaten) kept.push(label);
  }
  return kept;
}

function visitsOf(label: Label): PlannedVisit[] {
  const visits: PlannedVisit[] = [];
  for (let at: Label | null = label; at !== null; at = at.before)
    if (at.visit !== null) visits.unshift(at.visit);
  return visits;
}
