import { DomainError } from '../base/index.js';
import type { ResourceKind, ServiceStep, Stretch } from '../salon/index.js';

const MINUTE_MS = 60_000;

/** No step may be made shorter than this when an appointment is. */
const SHORTEST_STEP_MINUTES = 5;

/** What a service or an appointment asks for; without steps the stylist is at work all through. */
export type Plan = {
  readonly steps?: readonly ServiceStep[] | null;
  readonly resources?: readonly ResourceKind[] | null;
};

export type Need = Stretch & { readonly kind: ResourceKind };

export type Layout = {
  /** When the stylist is at work, in order; steps that touch are one. */
  readonly active: readonly Stretch[];
  /** One resource of the kind for the whole of the stretch; steps that touch share one. */
  readonly needs: readonly Need[];
};

/**
 * The steps of a service made to fill `minutes`: the last active step takes what is more or less.
 * Throws BOOK.STEPS_TOO_SHORT when nothing would be left of it.
 */
export function fittedSteps(
  steps: readonly ServiceStep[] | null | undefined,
  minutes: number,
): ServiceStep[] | null {
  if (!steps || steps.length === 0) return null;
  const more = minutes - steps.reduce((sum, step) => sum + step.minutes, 0);
  const last = steps.findLastIndex(({ activity }) => activity === 'active');
  const fitted = steps.map((step, i) =>
    i === last ? { ...step, minutes: step.minutes + more } : { ...step },
  );
  const shortest = fitted[last];
  if (!shortest || shortest.minutes < SHORTEST_STEP_MINUTES) {
    const least = minutes - (shortest?.minutes ?? 0) + SHORTEST_STEP_MINUTES;
    throw DomainError.invalid(
      'BOOK.STEPS_TOO_SHORT',
      'minutes',
      `Minutes: the steps of this service need at least ${least}.`,
    );
  }
  return fitted;
}

/** Where the plan's steps and resources lie when it fills `whole`. Steps must add up to its length. */
export function layOut(whole: Stretch, { steps, resources }: Plan): Layout {
  const active: Stretch[] = [];
  const needs: Need[] = (resources ?? []).map((kind) => ({ kind, ...bounds(whole) }));
  const throughout = new Set<ResourceKind>(resources ?? []);
  let startsAt = whole.startsAt;
  for (const step of steps ?? [{ activity: 'active' as const, minutes: minutesOf(whole) }]) {
    const endsAt = startsAt + step.minutes * MINUTE_MS;
    if (step.activity === 'active') join(active, { startsAt, endsAt });
    for (const kind of step.resources ?? []) {
      if (throughout.has(kind)) continue;
      const last = needs.findLastIndex((need) => need.kind === kind && need.endsAt === startsAt);
      if (last < 0) needs.push({ kind, startsAt, endsAt });
      else needs[last] = { ...(needs[last] as Need), endsAt };
    }
    startsAt = endsAt;
  }
  return { active, needs };
}

const bounds = ({ startsAt, endsAt }: Stretch): Stretch => ({ startsAt, endsAt });
const minutesOf = ({ startsAt, endsAt }: Stretch) => (endsAt - startsAt) / MINUTE_MS;

function join(stretches: Stretch[], next: Stretch): void {
  const last = stretches.at(-1);
  if (last?.endsAt === next.startsAt) {
    stretches[stretches.length - 1] = { startsAt: last.startsAt, endsAt: next.endsAt };
  } else {
    stretches.push(next);
  }
}
