/** A service that can be booked; `zones` are positions in the caller's list of zones. */
export interface Offer {
  readonly zones: readonly number[];
  /** What is made least, and what decides between equals after the number of visits. */
  readonly cost: number;
  readonly secondCost: number;
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
}

export interface PlannedVisit {
  readonly day: number;
  readonly offer: number;
}

export interface CheapestVisits {
  readonly visits: readonly PlannedVisit[];
  readonly cost: number;
  readonly secondCost: number;
}

interface Label {
  /** The last day each group of zones still holds, the full cut's own deadline last. */
  readonly deadlines: readonly number[];
  readonly cost: number;
  readonly count: number;
  readonly secondCost: number;
  readonly dayTotal: number;
  readonly visit: PlannedVisit | null;
  readonly before: Label | null;
}

/**
 * The cheapest visits that keep every zone within its hold up to the horizon, at most one visit a day: least cost,
 * then fewest visits, then least second cost, then the latest days. So a visit that costs nothing is still not made without need.
 * `null` when no choice of visits can do it.
 *
 * Exact dynamic programming over the days. A state is the set of deadlines; zones that every offer treats alike share
 * one. Of two states on the same day the one with no later deadline anywhere and no lower cost can be dropped, because
 * whatever completes it completes the other too.
 */
export function cheapestVisits(problem: VisitProblem): CheapestVisits | null {
  const { groups, holds } = groupZones(problem);
  const limit = problem.horizon;
  const capped = (day: number) => Math.min(day, limit);
  let labels: Label[] = [
    {
      deadlines: [
        ...groups.map((zones) =>
          capped(Math.min(...zones.map((zone) => problem.firstDeadlines[zone] ?? limit))),
        ),
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
  for (const day of problem.days) {
    if (day > limit) break;
    const alive = labels.filter((label) => label.deadlines.every((deadline) => deadline >= day));
    const next = [...alive];
    for (const label of alive) {
      problem.offers.forEach((offer, index) => {
        next.push({
          deadlines: label.deadlines.map((deadline, group) => {
            const zone = groups[group]?.[0];
            const reset = zone === undefined ? offer.isFull : offer.isFull || offer.zones.includes(zone);
            return reset ? capped(day + (holds[group] ?? problem.fullEveryDays)) : deadline;
          }),
          cost: label.cost + offer.cost,
          count: label.count + 1,
          secondCost: label.secondCost + offer.secondCost,
          dayTotal: label.dayTotal + day,
          visit: { day, offer: index },
          before: label,
        });
      });
    }
    labels = undominated(next);
  }
  const done = labels
    .filter((label) => label.deadlines.every((deadline) => deadline >= limit))
    .sort(byCost)[0];
  return done === undefined ? null : { visits: visitsOf(done), cost: done.cost, secondCost: done.secondCost };
}

/** Zones that the same offers cut; the one that holds shortest speaks for the group. */
function groupZones(problem: VisitProblem): { groups: number[][]; holds: number[] } {
  const byOffers = new Map<string, number[]>();
  problem.holdDays.forEach((_, zone) => {
    const key = problem.offers.map((offer) => (offer.isFull || offer.zones.includes(zone) ? 1 : 0)).join('');
    byOffers.set(key, [...(byOffers.get(key) ?? []), zone]);
  });
  const groups = [...byOffers.values()];
  return {
    groups,
    holds: groups.map((zones) => Math.min(...zones.map((zone) => problem.holdDays[zone] ?? 0))),
  };
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
