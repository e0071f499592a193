import { type EntityManager, In, LessThanOrEqual, MoreThanOrEqual } from 'typeorm';
import { Closure, RotaEntry } from './entities.js';
import type { LocalDay } from './local-days.js';
import { type WorkStretch, workingStretches } from './working-stretches.js';

export type WorkingTime = {
  readonly stretches: readonly WorkStretch[];
  readonly closures: readonly Closure[];
};

/**
 * When each of these people works on these days, and the closures that touch them; two queries however many days
 * and people there are. `days` must be in order and not empty.
 */
export async function workingTime(
  manager: EntityManager,
  salonId: string,
  staffIds: readonly string[],
  days: readonly LocalDay[],
): Promise<ReadonlyMap<string, WorkingTime>> {
  const rota = await manager.findBy(RotaEntry, { staffId: In([...staffIds]) });
  const closures = await manager.find(Closure, {
    where: {
      salonId,
      startsOn: LessThanOrEqual(days.at(-1)!.date),
      endsOn: MoreThanOrEqual(days[0]!.date),
    },
    order: { startsOn: 'ASC', id: 'ASC' },
  });
  return new Map(
    staffIds.map((staffId) => {
      const own = closures.filter((closure) => closure.staffId === null || closure.staffId === staffId);
      const week = rota.filter((entry) => entry.staffId === staffId);
      return [staffId, { stretches: workingStretches(days, week, own), closures: own }];
    }),
  );
}
