import { LessThanOrEqual } from 'typeorm';
import type { Reader, UnitOfWork } from '../store/index.js';
import { PrivateLink } from './private-links.js';

/** An appointment that has ended may still be moved, which lets its links open again. */
const KEPT_MS = 7 * 86_400_000;
const AT_A_TIME = 500;

/**
 * Deletes the links that ran out more than a week ago, few at a time so that others may write in between. Returns how many.
 */
export async function sweepLinks(units: UnitOfWork, reader: Reader, now: number): Promise<number> {
  for (let gone = 0; ; ) {
    const over = await reader.manager.find(PrivateLink, {
      select: { id: true },
      where: { expiresAt: LessThanOrEqual(now - KEPT_MS) },
      order: { expiresAt: 'ASC' },
      take: AT_A_TIME,
    });
    if (over.length > 0) {
      const ids = over.map(({ id }) => id);
      const { affected } = await units.run((manager) => manager.delete(PrivateLink, ids));
      gone += affected ?? 0;
    }
    if (over.length < AT_A_TIME) return gone;
  }
}
