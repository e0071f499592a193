import type { ResourceKind, Service, ServiceStep } from '../salon/index.js';

/** What of a service is laid out, priced and named. */
export type Offered = Pick<
  Service,
  'id' | 'name' | 'kind' | 'zones' | 'minutes' | 'priceMinor' | 'steps' | 'resources' | 'skills'
>;

/** Names of several services in one: "Neckline tidy and Fringe tidy". */
export function joinedNames(services: readonly Pick<Service, 'name'>[]): string {
  const names = services.map(({ name }) => name);
  const last = names.pop() ?? '';
  return names.length === 0 ? last : `${names.join(', ')} and ${last}`;
}

/**
 * Services done one after the other in one sitting, as one: their steps in turn, their minutes and prices added, their
 * skills all needed. What every one of them holds throughout is held throughout, what only some hold for their own
 * steps. It bears the first one's id, and is colour when any of them is. Throws RangeError for none.
 */
export function combinedService(services: readonly Offered[]): Offered {
  const [first, ...others] = services;
  if (!first) throw new RangeError('services: give at least one.');
  if (others.length === 0) return first;
  const throughout = (first.resources ?? []).filter((kind) =>
    others.every(({ resources }) => resources?.includes(kind)),
  );
  const steps = services.flatMap((service) => stepsOf(service, throughout));
  const isPlain = steps.every(({ activity, resources }) => activity === 'active' && !resources?.length);
  return {
    id: first.id,
    name: joinedNames(services),
    kind: services.some(({ kind }) => kind === 'colour') ? 'colour' : first.kind,
    zones: [...new Set(services.flatMap(({ zones }) => zones))],
    minutes: sum(services.map(({ minutes }) => minutes)),
    priceMinor: sum(services.map(({ priceMinor }) => priceMinor)),
    steps: isPlain ? null : steps,
    resources: throughout.length > 0 ? throughout : null,
    skills: [...new Set(services.flatMap(({ skills }) => skills ?? []))],
  };
}

/** The service's steps, each with what the service holds throughout and the whole sitting does not. */
function stepsOf({ minutes, steps, resources }: Offered, throughout: readonly ResourceKind[]): ServiceStep[] {
  const own = (resources ?? []).filter((kind) => !throughout.includes(kind));
  const bare: readonly ServiceStep[] = steps && steps.length > 0 ? steps : [{ activity: 'active', minutes }];
  return bare.map((step) => ({ ...step, resources: [...new Set([...(step.resources ?? []), ...own])] }));
}

const sum = (numbers: readonly number[]) => numbers.reduce((total, number) => total + number, 0);
