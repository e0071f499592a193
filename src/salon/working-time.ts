import { Between, type EntityManager, In, LessThanOrEqual, MoreThanOrEqual } from 'typeorm';
import { Closure, RotaChange, RotaEntry } from './entities.js';
import type { LocalDay } from './local-days.js';
import { type WorkStretch, workingStretches } from './working-stretches.js';

export type WorkingTime = {
  readonly stretches: readonly WorkStretch[];
  readonly closures: readonly Closure[];
};

/**
 * When each of these people works on these days, and the closures that touch them; three queries however many days
 * and people there are. `days` must be in order and not empty.
 */
export async function workingTime(
  manager: EntityManager,
  salonId: string,
  staffIds: readonly string[],
  days: readonly LocalDay[],
): Promise<ReadonlyMap<string, WorkingTime>> {
  const rota = await manager.findBy(RotaEntry, { staffId: In([...staffIds]) });
  const changes = await manager.findBy(RotaChange, {
    staffId: In([...staffIds]),
    onDate: Between(days[0]!.date, days.at(-1)!.date),
  });
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
      const dated = changes.filter((change) => change.staffId === staffId);
      return [staffId, { stretches: workingStretches(days, week, own, dated), closures: own }];
    }),
  );
}
