import type { EntityManager } from 'typeorm';
import { dateIn, weekdayOf } from '../src/base/index.js';
import { hashPassword, type Role } from '../src/identity/index.js';
import { Salon } from '../src/salon/index.js';
import type { UnitOfWork } from '../src/store/index.js';
import { DEMO_ZONE, demoData } from './demo-data.js';
import { DEMO_PASSWORD, DEMO_SALON_EMAIL, demoPeople } from './salon.js';
import type { Story } from './stories.js';

export { DEMO_ZONE };

export type DemoSignIn = {
  readonly role: Role;
  readonly name: string;
  readonly email: string;
  readonly password: string;
};

export type Planted = {
  /** The stylist of the stories first, then the others, the desk and the owner. */
  readonly signIns: readonly DemoSignIn[];
  /** False when the demo was there already: nothing was written, and `stories` is empty. */
  readonly planted: boolean;
  readonly stories: readonly Story[];
};

/** There is a salon already, and it is not the demo's. */
export class NotEmptyError extends Error {
  override readonly name = 'NotEmptyError';
}

/**
 * Plants the demo in an empty database, in one unit of work: all of it or nothing. Does nothing where the demo is
 * already; throws NotEmptyError where another salon is.
 */
export async function plantDemo(options: {
  units: UnitOfWork;
  now: number;
  clients?: number;
}): Promise<Planted> {
  const { units, now, clients } = options;
  const people = demoPeople(weekdayOf(dateIn(DEMO_ZONE, now)));
  const signIns = people.map(({ role, name, email }) => ({ role, name, email, password: DEMO_PASSWORD }));
  if (await units.run(demoIsThere)) return { signIns, planted: false, stories: [] };
  const hashes = new Map(
    await Promise.all(people.map(async ({ email }) => [email, await hashPassword(DEMO_PASSWORD)] as const)),
  );
  const { rows, stories } = demoData(now, (email) => hashes.get(email) ?? '', clients);
  return await units.run(async (manager) => {
    if (await demoIsThere(manager)) return { signIns, planted: false, stories: [] };
    await rows.insertInto(manager);
    return { signIns, planted: true, stories };
  });
}

async function demoIsThere(manager: EntityManager): Promise<boolean> {
  const salons = await manager.find(Salon);
  if (salons.length === 0) return false;
  if (salons.some(({ email }) => email === DEMO_SALON_EMAIL)) return true;
  throw new NotEmptyError(
    'This database holds a salon of its own: the demo is planted only where there is none.',
  );
}
