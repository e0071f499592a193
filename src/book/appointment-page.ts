import type { EntityManager } from 'typeorm';
import { keysetPage, type Page, type PageAsked } from '../store/index.js';
import { Appointment, type AppointmentState } from './entities.js';

export type AppointmentWish = {
  /** Starts at this instant or later, and before that one; milliseconds. */
  readonly fromAt?: number | undefined;
  readonly toAt?: number | undefined;
  readonly staffId?: string | undefined;
  readonly clientId?: string | undefined;
  readonly state?: AppointmentState | undefined;
};

/** A page of a salon's appointments by their start, cancelled ones among them unless `state` says otherwise. */
export async function appointmentPage(
  manager: EntityManager,
  salonId: string,
  { fromAt, toAt, ...equal }: AppointmentWish,
  asked: PageAsked,
): Promise<Page<Appointment>> {
  const query = manager.createQueryBuilder(Appointment, 'a').where('a.salonId = :salonId', { salonId });
  if (fromAt !== undefined) query.andWhere('a.startsAt >= :fromAt', { fromAt });
  if (toAt !== undefined) query.andWhere('a.startsAt < :toAt', { toAt });
  for (const [column, value] of Object.entries(equal)) {
    if (value !== undefined) query.andWhere(`a.${column} = :${column}`, { [column]: value });
  }
  return await keysetPage(query, ['startsAt', 'id'], 'ASC', asked);
}
