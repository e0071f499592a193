import { layOut, type Need } from '../src/book/layout.js';
import type { Resource, ServiceStep } from '../src/salon/index.js';
import type { Dice } from './dice.js';
import type { Rows } from './rows.js';
import type { DemoSalon, ServiceKey } from './salon.js';

/** Never more than two stylists cut at once here; the third chair is for whoever stays over. */
const RESOURCES = [
  ['chair', 'Chair by the door'],
  ['chair', 'Chair in the middle'],
  ['chair', 'Chair under the lantern'],
  ['wash-basin', 'Left basin'],
  ['wash-basin', 'Right basin'],
] as const;

const BASIN_MINUTES = 45;

/** A colour is rinsed and cut at the basin's end of the room; all else stays in its chair. */
function stepsOf(key: ServiceKey, minutes: number): ServiceStep[] | null {
  if (key !== 'colour') return null;
  return [
    { activity: 'active', minutes: minutes - BASIN_MINUTES },
    { activity: 'active', minutes: BASIN_MINUTES, resources: ['wash-basin'] },
  ];
}

/**
 * Gives the finished book its chairs and its basins: what each service needs, and for every kept appointment the one of
 * its kind that has stood idle for the shortest time, as the book itself chooses.
 */
export function seat(rows: Rows, dice: Dice, { salon, services }: DemoSalon, openedAt: number): void {
  const resources = RESOURCES.map(
    ([kind, name]): Resource => ({
      id: dice.id(openedAt),
      version: 1,
      salonId: salon.id,
      kind,
      name,
      active: true,
    }),
  );
  rows.resources.push(...resources);
  const steps = new Map<string, ServiceStep[] | null>();
  for (const [key, service] of Object.entries(services)) {
    service.steps = stepsOf(key as ServiceKey, service.minutes);
    service.resources = ['chair'];
    steps.set(service.id, service.steps);
  }
  const free = new Map(resources.map(({ id }) => [id, Number.NEGATIVE_INFINITY]));
  const take = ({ kind, startsAt, endsAt }: Need): string | undefined => {
    const [best] = resources
      .filter((resource) => resource.kind === kind && free.get(resource.id)! <= startsAt)
      .sort((a, b) => free.get(b.id)! - free.get(a.id)!);
    if (best) free.set(best.id, endsAt);
    return best?.id;
  };
  const kept = new Set(rows.claims.map(({ appointmentId }) => appointmentId));
  const inOrder = [...rows.appointments].sort((a, b) => a.startsAt - b.startsAt || a.id.localeCompare(b.id));
  for (const appointment of inOrder) {
    appointment.steps = steps.get(appointment.serviceId) ?? null;
    appointment.resources = ['chair'];
    if (!kept.has(appointment.id)) continue;
    for (const need of layOut(appointment, appointment).needs) {
      const resourceId = take(need);
      if (resourceId === undefined) throw new Error(`The demo has too few of ${need.kind}.`);
      const { startsAt, endsAt } = need;
      const id = dice.id(appointment.bookedAt);
      rows.claims.push({ id, appointmentId: appointment.id, staffId: null, resourceId, startsAt, endsAt });
    }
  }
}
