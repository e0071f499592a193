import { DomainError, dateIn, instantAt, isDate, isTime, timeIn } from '../base/index.js';
import type { Appointment, Obstacle, Obstacles, Slot } from '../book/index.js';
import type { Problem } from '../http/index.js';
import type { Salon } from '../salon/index.js';
import { dayText, type Spoken } from './days.js';
import { offeredSlots } from './slot-view.js';

const MINUTE_MS = 60_000;
const LONGEST_MINUTES = 720;
const OUTSIDE_ROTA = 'BOOK.OUTSIDE_ROTA';

/** What a form asked for when the book refused it. */
export type Refused = {
  readonly values: Readonly<Record<string, string>>;
  readonly problem: Problem;
  /** What is left out of the form stands as here. */
  readonly standing: Pick<Appointment, 'salonId' | 'clientId' | 'staffId' | 'serviceId'> & {
    readonly id?: string;
    readonly minutes: number;
    readonly startsAt?: number;
    readonly steps?: Appointment['steps'];
    readonly resources?: Appointment['resources'];
  };
};

/** A whole number up to `most`; anything else was refused for itself. */
function numberIn(text: string | undefined, most: number): number | undefined {
  const value = text === undefined || text === '' ? Number.NaN : Number(text);
  return Number.isSafeInteger(value) && value > 0 && value <= most ? value : undefined;
}

/**
 * Why a time could not be had, in whole: what was wished, whose appointments are in the way, and the next free times.
 * Undefined when the refusal is not about a time.
 */
export async function conflictView(
  { values, problem, standing }: Refused,
  obstacles: Obstacles,
  { zone }: Pick<Salon, 'zone'>,
  spoken: Spoken,
) {
  const { date, time } = values;
  const startsAt =
    numberIn(values['startsAt'], Date.UTC(2100, 0)) ??
    (isDate(date) && isTime(time) ? instantAt(zone, date, time) : standing.startsAt);
  if (
    startsAt === undefined ||
    (problem.status !== 409 && !problem.fields.some(({ field }) => field === 'time'))
  )
    return undefined;
  const minutes = numberIn(values['minutes'], LONGEST_MINUTES) ?? standing.minutes;
  const staffId = values['staffId'] || standing.staffId;
  const serviceId = values['serviceId'] || standing.serviceId;
  const endsAt = startsAt + minutes * MINUTE_MS;
  const inTheWay: Obstacle[] = await obstacles
    .of({
      salonId: standing.salonId,
      clientId: standing.clientId,
      staffId,
      serviceId,
      startsAt,
      endsAt,
      ...(standing.id && { appointmentId: standing.id }),
      ...(standing.steps !== undefined && { steps: standing.steps }),
      ...(standing.resources !== undefined && { resources: standing.resources }),
    })
    .catch((error: unknown) => {
      if (error instanceof DomainError) return [];
      throw error;
    });
  return {
    detail: problem.detail,
    wished: `${dayText(dateIn(zone, startsAt), spoken)}, ${timeIn(zone, startsAt)}–${timeIn(zone, endsAt)}`,
    inTheWay,
    next: offeredSlots((problem.details['nextFree'] as readonly Slot[] | undefined) ?? [], spoken),
    outsideRota: problem.code === OUTSIDE_ROTA,
    startsAt,
    minutes,
    staffId,
    serviceId,
  };
}
