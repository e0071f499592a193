import { type EntityManager, In } from 'typeorm';
import { Appointment } from '../book/index.js';
import { Client } from '../clients/index.js';
import { Salon } from '../salon/index.js';
import { newId } from '../store/index.js';
import { Message, type MessageKind, type MessageReason, type MessageState } from './entities.js';
import { reachOf } from './reach.js';
import { reminderTime } from './reminder-time.js';

/**
 * What is called back when it is no longer true; a failed one too, or the desk would try it again. What a
 * dispatcher has in hand this moment may go out all the same.
 */
const UNSENT = ['owed', 'failed', 'unreachable'] as const;

type Owing = { readonly kind: MessageKind; readonly key: string; readonly dueAt: number };

async function owe(
  manager: EntityManager,
  appointment: Appointment,
  { kind, key, dueAt }: Owing,
  now: number,
): Promise<void> {
  const reach = await reachOf(manager, appointment.clientId);
  const reachable = 'address' in reach;
  await manager
    .createQueryBuilder()
    .insert()
    .into(Message)
    .values({
      id: newId(),
      dedupeKey: `${kind}:${appointment.id}:${key}`,
      salonId: appointment.salonId,
      clientId: appointment.clientId,
      appointmentId: appointment.id,
      kind,
      channel: reach.channel,
      address: reachable ? reach.address : null,
      owedSince: now,
      dueAt,
      state: reachable ? 'owed' : 'unreachable',
      reason: reachable ? null : reach.unreachable,
      attempts: 0,
    })
    .orIgnore()
    .execute();
}

async function oweReminder(manager: EntityManager, appointment: Appointment, now: number): Promise<void> {
  const { zone, reminderHours } = await manager.findOneByOrFail(Salon, { id: appointment.salonId });
  const { startsAt } = appointment;
  const dueAt = reminderTime({ startsAt, hoursBefore: reminderHours, zone }, now);
  if (dueAt === undefined) return;
  const key = `${appointment.moves}:${reminderHours}`;
  await owe(manager, appointment, { kind: 'appointment-reminder', key, dueAt }, now);
}

async function withdraw(
  manager: EntityManager,
  appointmentId: string,
  states: readonly MessageState[],
  reason: MessageReason,
): Promise<void> {
  await manager.update(
    Message,
    { appointmentId, state: In(states) },
    { state: 'withdrawn', reason, leaseId: null, notBefore: null },
  );
}

/** A confirmation at once and a reminder in time; nothing for an appointment that has begun. Owing twice owes once. */
export async function oweForBooking(
  manager: EntityManager,
  appointment: Appointment,
  now: number,
): Promise<void> {
  if (appointment.startsAt <= now) return;
  await owe(manager, appointment, { kind: 'appointment-confirmation', key: '0', dueAt: now }, now);
  await oweReminder(manager, appointment, now);
}

/** Calls back what told the old time and owes a notice of the new one and a reminder for it. */
export async function oweForMove(
  manager: EntityManager,
  appointment: Appointment,
  now: number,
): Promise<void> {
  await withdraw(manager, appointment.id, UNSENT, 'moved');
  if (appointment.startsAt <= now) return;
  const key = `${appointment.moves}`;
  await owe(manager, appointment, { kind: 'appointment-change', key, dueAt: now }, now);
  await oweReminder(manager, appointment, now);
}

/** Calls back what is unsent and owes a notice, unless the appointment had begun. */
export async function oweForCancellation(
  manager: EntityManager,
  appointment: Appointment,
  now: number,
): Promise<void> {
  await withdraw(manager, appointment.id, UNSENT, 'cancelled');
  if (appointment.startsAt <= now) return;
  await owe(manager, appointment, { kind: 'appointment-cancellation', key: '0', dueAt: now }, now);
}

/** Calls back what is still owed about an appointment that is over. What failed stays for the desk to see. */
export async function oweNoMore(manager: EntityManager, { id }: Appointment): Promise<void> {
  await withdraw(manager, id, ['owed'], 'over');
}

/** Unreachable messages about appointments still ahead whose client has an address by now. */
export async function perhapsReachable(manager: EntityManager, now: number): Promise<Message[]> {
  return await manager
    .createQueryBuilder(Message, 'message')
    .innerJoin(Appointment, 'appointment', 'appointment.id = message.appointmentId')
    .innerJoin(Client, 'client', 'client.id = message.clientId')
    .where({ state: 'unreachable' })
    .andWhere('appointment.startsAt > :now AND client.email IS NOT NULL', { now })
    .getMany();
}

/** Owes an unreachable message after all, if its client can be reached and wants it. Tells whether it did. */
export async function reviveIfReachable(manager: EntityManager, message: Message): Promise<boolean> {
  const reach = await reachOf(manager, message.clientId);
  if (!('address' in reach)) return false;
  const { affected } = await manager.update(
    Message,
    { id: message.id, state: 'unreachable' },
    { state: 'owed', reason: null, channel: reach.channel, address: reach.address },
  );
  return affected !== 0;
}
