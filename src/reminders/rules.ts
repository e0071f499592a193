import type { EntityManager } from 'typeorm';
import { Salon } from '../salon/index.js';
import { MessageRules } from './entities.js';

export type QuietHours = {
  /** 'HH:MM' in the salon's zone. */
  readonly quietFrom: string;
  readonly quietUntil: string;
};

export type Rules = QuietHours & {
  /** Hours of elapsed time before the start; empty for no reminders. */
  readonly reminderHours: readonly number[];
  readonly nudgeMost: number;
  readonly nudgeWeeks: number;
};

const USUAL = { quietFrom: '20:00', quietUntil: '09:00', nudgeMost: 2, nudgeWeeks: 8 } as const;

/** How this salon wants its messages: what it set, else the usual. */
export async function rulesOf(
  manager: EntityManager,
  salon: Pick<Salon, 'id' | 'reminderHours'>,
): Promise<Rules> {
  const set = await manager.findOneBy(MessageRules, { salonId: salon.id });
  return set ?? usualRules(salon);
}

export function usualRules({ reminderHours }: Pick<Salon, 'reminderHours'>): Rules {
  return { ...USUAL, reminderHours: reminderHours > 0 ? [reminderHours] : [] };
}
