import { And, type EntityManager, In, LessThan, MoreThan, Not } from 'typeorm';
import { DomainError } from '../base/index.js';
import { Resource, type Stretch } from '../salon/index.js';
import { newId } from '../store/index.js';
import { Appointment, Claim } from './entities.js';
import { layOut, type Need } from './layout.js';
import { LONGEST_MS } from './when.js';

export const RESOURCE_WORDS = { chair: 'chair', 'wash-basin': 'wash basin', room: 'room' } as const;

/** What could not be had. */
export type Asked = Pick<
  Appointment,
  'salonId' | 'serviceId' | 'alsoServiceIds' | 'staffId' | 'startsAt' | 'endsAt'
>;

export const overlapping = ({ startsAt, endsAt }: Stretch) => ({
  startsAt: And(MoreThan(startsAt - LONGEST_MS), LessThan(endsAt)),
  endsAt: MoreThan(startsAt),
});

/** Claims that an appointment could hold at this moment, its own earlier ones not counted. */
export type FreeClaims = readonly Omit<Claim, 'resourceId'>[];

/**
 * What an appointment needs of its stylist and of the salon's resources, all of it free. Throws BOOK.TAKEN when another
 * appointment holds any of the stylist's time, BOOK.RESOURCE_TAKEN when all chairs, basins or rooms are held,
 * BOOK.RESOURCE_MISSING when the salon has none, and BOOK.CLIENT_BUSY when its client sits elsewhere then. Only inside
 * the unit of work that also takes them does the answer stand: nobody gets in between.
 */
export async function freeClaims(manager: EntityManager, appointment: Appointment): Promise<FreeClaims> {
  const { active, needs } = layOut(appointment, appointment);
  const others = { appointmentId: Not(appointment.id) };
  for (const wanted of active) {
    const rival = { staffId: appointment.staffId, ...others, ...overlapping(wanted) };
    if (await manager.existsBy(Claim, rival)) {
      throw taken(
        appointment,
        'BOOK.TAKEN',
        'Somebody else has that time with this stylist.',
        'Time: somebody else has it with this stylist. Choose a free one.',
      );
    }
  }
  const claims = active.map((stretch) => claimOf(appointment, stretch, appointment.staffId, null));
  for (const need of needs) {
    const resourceId = await freeResource(manager, appointment, need);
    claims.push(claimOf(appointment, need, null, resourceId));
  }
  const elsewhere = await manager.existsBy(Appointment, {
    id: Not(appointment.id),
    clientId: appointment.clientId,
    state: In(['booked', 'arrived', 'done']),
    ...overlapping(appointment),
  });
  if (elsewhere) {
    throw new DomainError(
      'conflict',
      'BOOK.CLIENT_BUSY',
      'This client has another appointment at that time.',
      [
        {
          field: 'time',
          message: 'Time: this client has another appointment then. Choose another, or move that one.',
        },
      ],
    );
  }
  return claims;
}

/** Holds what `freeClaims` found, giving up what the appointment held before. */
export async function takeClaims(
  manager: EntityManager,
  appointment: Appointment,
  claims: FreeClaims,
): Promise<void> {
  await releaseClaims(manager, appointment.id);
  await manager.insert(Claim, [...claims]);
}

function claimOf(
  { id: appointmentId }: Appointment,
  { startsAt, endsAt }: Stretch,
  staffId: string | null,
  resourceId: string | null,
) {
  return { id: newId(), appointmentId, staffId, resourceId, startsAt, endsAt };
}

/** The free one that has stood idle for the shortest time, so that long stretches stay whole elsewhere. */
async function freeResource(manager: EntityManager, appointment: Appointment, need: Need): Promise<string> {
  const all = await manager.find(Resource, {
    where: { salonId: appointment.salonId, kind: need.kind, active: true },
    order: { name: 'ASC', id: 'ASC' },
  });
  const what = RESOURCE_WORDS[need.kind];
  if (all.length === 0) {
    throw DomainError.invalid(
      'BOOK.RESOURCE_MISSING',
      'serviceId',
      `Service: it needs a ${what} and the salon has none in use. Add one, or choose another service.`,
    );
  }
  const held = await manager.find(Claim, {
    where: {
      resourceId: In(all.map(({ id }) => id)),
      appointmentId: Not(appointment.id),
      startsAt: And(MoreThan(need.startsAt - 2 * LONGEST_MS), LessThan(need.endsAt)),
    },
  });
  const idleSince = (id: string) =>
    Math.max(0, ...held.filter(({ resourceId }) => resourceId === id).map(({ endsAt }) => endsAt));
  const [best] = all
    .map(({ id }) => ({ id, since: idleSince(id) }))
    .filter(({ since }) => since <= need.startsAt)
    .sort((a, b) => b.since - a.since);
  if (best) return best.id;
  throw taken(
    appointment,
    'BOOK.RESOURCE_TAKEN',
    `No ${what} is free at that time.`,
    `Time: every ${what} is in use then. Choose a free time.`,
  );
}

/** Carries what was asked for, from which the next free slots are found. */
function taken(asked: Asked, code: string, words: string, message: string): DomainError {
  const { salonId, serviceId, alsoServiceIds, staffId, startsAt, endsAt } = asked;
  return new DomainError('conflict', code, words, [{ field: 'time', message }], {
    asked: {
      salonId,
      serviceId,
      alsoServiceIds: alsoServiceIds ?? null,
      staffId,
      startsAt,
      endsAt,
    } satisfies Asked,
  });
}

export async function releaseClaims(manager: EntityManager, appointmentId: string): Promise<void> {
  await manager.delete(Claim, { appointmentId });
}
