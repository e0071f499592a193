import { LessThan, Not } from 'typeorm';
import type { UnitOfWork } from '../store/index.js';
import { WebhookDelivery } from './entities.js';

const KEPT_MS = 30 * 86_400_000;

/** Forgets deliveries that have been over for thirty days. */
export async function sweepDeliveries(units: UnitOfWork, now: number): Promise<void> {
  const before = { state: Not('owed'), happenedAt: LessThan(now - KEPT_MS) } as const;
  await units.run((manager) => manager.delete(WebhookDelivery, before));
}
