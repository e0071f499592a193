import type { EntityManager } from 'typeorm';
import { DomainError, dateIn, dateInWords, timeIn } from '../base/index.js';
import { localDays, type Salon, type Staff, type Stretch, workingTime } from '../salon/index.js';

/** Whether each of the parts lies within one of the stretches somebody works. */
export function worksThrough(stretches: readonly Stretch[], parts: readonly Stretch[]): boolean {
  return parts.every((part) =>
    stretches.some(({ startsAt, endsAt }) => startsAt <= part.startsAt && part.endsAt <= endsAt),
  );
}

/**
 * Throws BOOK.OUTSIDE_ROTA unless the stylist works all through each of the stretches, which lie on one day; says which
 * hours she does work that day. What is left between them she may be away.
 */
export async function requireWorking(
  manager: EntityManager,
  salon: Salon,
  staff: Staff,
  wanted: readonly Stretch[],
): Promise<void> {
  const date = dateIn(salon.zone, wanted[0]!.startsAt);
  const work = await workingTime(manager, salon.id, [staff.id], localDays(salon.zone, date, date));
  const { stretches, closures } = work.get(staff.id)!;
  if (worksThrough(stretches, wanted)) return;
  const hours = stretches.map(
    ({ startsAt, endsAt }) => `${timeIn(salon.zone, startsAt)}–${timeIn(salon.zone, endsAt)}`,
  );
  const [closure] = closures;
  const day = dateInWords(date, salon.locale);
  const why = closure
    ? `${closure.staffId === null ? 'The salon is closed' : `${staff.name} is away`} on ${day} (${closure.reason}).`
    : hours.length === 0
      ? `${staff.name} does not work on ${day}.`
      : `${staff.name} works ${hours.join(' and ')} on ${day}.`;
  const message = `${why} Choose another time, or book outside the rota on purpose.`;
  throw new DomainError('refused', 'BOOK.OUTSIDE_ROTA', message, [{ field: 'time', message }], { hours });
}
