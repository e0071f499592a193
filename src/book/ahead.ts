import { type FindOptionsWhere, In, MoreThan } from 'typeorm';
import type { Appointment } from './entities.js';

/** A client's appointments that stand and are not over at `now`; the one she sits for is among them. */
export const aheadOf = (clientId: string, now: number): FindOptionsWhere<Appointment> => ({
  clientId,
  state: In(['booked', 'arrived']),
  endsAt: MoreThan(now),
});
