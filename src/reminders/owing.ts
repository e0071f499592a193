import { type EntityManager, In } from 'typeorm';
import { Appointment } from '../book/index.js';
import { type Channel, Client } from '../clients/index.js';
import { Salon } from '../salon/index.js';
import { newId } from '../store/index.js';
import { Message, type MessageKind, type MessageReason, type MessageState } from './entities.js';
import { KINDS } from './kinds.js';
import { afterQuiet } from './quiet-hours.js';
import { reachOf } from './reach.js';
import { reminderTime } from './reminder-time.js';
import { rulesOf } from './rules.js';

/**
 * What is called back when it is no longer true; a failed one too, or the desk would try it again. What a
 * dispatcher has in hand this moment may go out all the same.
 */
export const UNSENT: readonly MessageState[] = ['owed', 'failed', 'unreachable'];
const HOUR_MS = 3_600_000;
/** The desk may have pressed the wrong button, or the client may come late after all. */
const NO_SHOW_WAIT_MS = 2 * HOUR_MS;
/** A no-show that is only written down later is not worth a word any more. */
const NO_SHOW_STALE_MS = 72 * HOUR_MS;
const MAIL_ONLY: readonly Channel[] = ['mail'];

type Owing = { readonly kind: MessageKind; readonly key: string; readonly dueAt: number };

async function owe(
  manager: EntityManager,
  appointment: Appointment,
  { kind, key, dueAt }: Owing,
  now: number,
  channels: readonly Channel[],
): Promise<void> {
  const { id: appointmentId, salonId, clientId } = appointment;
  const dedupeKey = `${kind}:${appointmentId}:${key}`;
  const row = { dedupeKey, salonId, clientId, appointmentId, kind, dueAt };
  await oweOnce(manager, row, now, channels);
}

type Told = Pick<Message, 'dedupeKey' | 'salonId' | 'clientId' | 'kind' | 'dueAt'> &
  Partial<Pick<Message, 'appointmentId' | 'aboutId'>>;

/** Owes a message, or keeps it as unreachable where there is no way to tell the client. Owing twice owes once. */
export async function oweOnce(
  manager: EntityManager,
  row: Told,
  now: number,
  channels: readonly Channel[],
): Promise<void> {
  const { purpose } = KINDS[row.kind];
  const reach = await reachOf(manager, row.clientId, purpose, channels);
  const reachable = 'address' in reach;
  // Nobody is owed an invitation she has not asked for.
  if (!reachable && purpose === 'rebooking') return;
  await manager
    .createQueryBuilder()
    .insert()
    .into(Message)
    .values({
      ...row,
      id: newId(),
      channel: reach.channel,
      address: reachable ? reach.address : null,
      owedSince: now,
      state: reachable ? 'owed' : 'unreachable',
      reason: reachable ? null : reach.unreachable,
      attempts: 0,
    })
    .orIgnore()
    .execute();
}

/**
 * The salon's reminders, each hours before the start. Of those whose time is past only the last is owed, at once:
 * one booked late is not told the same several times.
 */
async function oweReminders(
  manager: EntityManager,
  appointment: Appointment,
  now: number,
  channels: readonly Channel[],
): Promise<void> {
  const salon = await manager.findOneByOrFail(Salon, { id: appointment.salonId });
  const rules = await rulesOf(manager, salon);
  const { startsAt } = appointment;
  const past = rules.reminderHours.filter((hours) => startsAt - hours * HOUR_MS <= now);
  const last = Math.min(...past);
  for (const hoursBefore of rules.reminderHours) {
    if (past.includes(hoursBefore) && hoursBefore !== last) continue;
    const dueAt = reminderTime({ startsAt, hoursBefore, zone: salon.zone, quiet: rules }, now);
    if (dueAt === undefined) continue;
    const key = `${appointment.moves}:${hoursBefore}`;
    await owe(manager, appointment, { kind: 'appointment-reminder', key, dueAt }, now, channels);
  }
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

/** A confirmation at once and reminders in time; nothing for an appointment that has begun. Owing twice owes once. */
export async function oweForBooking(
  manager: EntityManager,
  appointment: Appointment,
  now: number,
  channels = MAIL_ONLY,
): Promise<void> {
  if (appointment.startsAt <= now) return;
  const confirmation = { kind: 'appointment-confirmation', key: '0', dueAt: now } as const;
  await owe(manager, appointment, confirmation, now, channels);
  await oweReminders(manager, appointment, now, channels);
}

/** Calls back what told the old time and owes a notice of the new one and reminders for it. */
export async function oweForMove(
  manager: EntityManager,
  appointment: Appointment,
  now: number,
  channels = MAIL_ONLY,
): Promise<void> {
  await withdraw(manager, appointment.id, UNSENT, 'moved');
  if (appointment.startsAt <= now) return;
  const key = `${appointment.moves}`;
  await owe(manager, appointment, { kind: 'appointment-change', key, dueAt: now }, now, channels);
  await oweReminders(manager, appointment, now, channels);
}

/** Calls back what is unsent and owes a notice, unless the appointment had begun. */
export async function oweForCancellation(
  manager: EntityManager,
  appointment: Appointment,
  now: number,
  channels = MAIL_ONLY,
): Promise<void> {
  await withdraw(manager, appointment.id, UNSENT, 'cancelled');
  if (appointment.startsAt <= now) return;
  const cancellation = { kind: 'appointment-cancellation', key: '0', dueAt: now } as const;
  await owe(manager, appointment, cancellation, now, channels);
}

/** Calls back what is still owed about an appointment that is over. What failed stays for the desk to see. */
export async function oweNoMore(manager: EntityManager, { id }: Appointment): Promise<void> {
  await withdraw(manager, id, ['owed'], 'over');
}

/** As above, and two hours later, by day, an invitation to another time, where she said yes to such. */
export async function oweAfterNoShow(
  manager: EntityManager,
  appointment: Appointment,
  now: number,
  channels = MAIL_ONLY,
): Promise<void> {
  await oweNoMore(manager, appointment);
  if (now - appointment.startsAt > NO_SHOW_STALE_MS) return;
  const salon = await manager.findOneByOrFail(Salon, { id: appointment.salonId });
  const dueAt = afterQuiet(await rulesOf(manager, salon), salon.zone, now + NO_SHOW_WAIT_MS);
  await owe(manager, appointment, { kind: 'no-show', key: '0', dueAt }, now, channels);
}

/** Unreachable messages about appointments still ahead whose client has an address by now. */
export async function perhapsReachable(manager: EntityManager, now: number): Promise<Message[]> {
  return await manager
    .createQueryBuilder(Message, 'message')
    .innerJoin(Appointment, 'appointment', 'appointment.id = message.appointmentId')
    .innerJoin(Client, 'client', 'client.id = message.clientId')
    .where({ state: 'unreachable' })
    .andWhere('appointment.startsAt > :now AND (client.email IS NOT NULL OR client.phone IS NOT NULL)', {
      now,
    })
    .getMany();
}

/** Whether the client of a message can be reached now, and wants it. */
export async function isReachable(
  manager: EntityManager,
  { clientId, kind }: Pick<Message, 'clientId' | 'kind'>,
  channels: readonly Channel[],
): Promise<boolean> {
  return 'address' in (await reachOf(manager, clientId, KINDS[kind].purpose, channels));
}

/** Owes an unreachable message after all, if its client can be reached and wants it. Tells whether it did. */
export async function reviveIfReachable(
  manager: EntityManager,
  message: Message,
  channels = MAIL_ONLY,
): Promise<boolean> {
  const reach = await reachOf(manager, message.clientId, KINDS[message.kind].purpose, channels);
  if (!('address' in reach)) return false;
  const { affected } = await manager.update(
    Message,
    { id: message.id, state: 'unreachable' },
    { state: 'owed', reason: null, channel: reach.channel, address: reach.address },
  );
  return affected !== 0;
}
