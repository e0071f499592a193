import { And, type EntityManager, In, LessThan, MoreThan, Not } from 'typeorm';
import { DomainError } from '../base/index.js';
import type { Stretch } from '../salon/index.js';
import { newId } from '../store/index.js';
import { Appointment, Claim } from './entities.js';
import { LONGEST_MS } from './when.js';

/** What an appointment holds of whom: today all of its time of its stylist. */
function claimsOf(appointment: Appointment): (Stretch & { staffId: string })[] {
  const { staffId, startsAt, endsAt } = appointment;
  return [{ staffId, startsAt, endsAt }];
}

const overlapping = ({ startsAt, endsAt }: Stretch) => ({
  startsAt: And(MoreThan(startsAt - LONGEST_MS), LessThan(endsAt)),
  endsAt: MoreThan(startsAt),
});

/**
 * Takes the time of an appointment, giving up what it held before. Throws BOOK.TAKEN when another appointment holds any
 * of it and BOOK.CLIENT_BUSY when its client sits elsewhere then. Inside a unit of work, which lets nobody in between.
 */
export async function takeClaims(manager: EntityManager, appointment: Appointment): Promise<void> {
  await releaseClaims(manager, appointment.id);
  for (const wanted of claimsOf(appointment)) {
    if (await manager.existsBy(Claim, { staffId: wanted.staffId, ...overlapping(wanted) })) {
      throw new DomainError('conflict', 'BOOK.TAKEN', 'Somebody else has that time with this stylist.', [
        { field: 'time', message: 'Time: somebody else has it with this stylist. Choose a free one.' },
      ]);
    }
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
  await manager.insert(
    Claim,
    claimsOf(appointment).map((claim) => ({ id: newId(), appointmentId: appointment.id, ...claim })),
  );
}

export async function releaseClaims(manager: EntityManager, appointmentId: string): Promise<void> {
  await manager.delete(Claim, { appointmentId });
}
