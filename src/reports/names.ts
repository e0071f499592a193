import type { EntityManager } from 'typeorm';
import { Salon, Service, Staff } from '../salon/index.js';
import type { CellKind } from './figure.js';
import type { CutBy } from './scope.js';

export const CUT_WORDS: Readonly<Record<CutBy, string>> = {
  stylist: 'Stylist',
  service: 'Service',
  shape: 'Shape',
  'first-time': 'First visit or later',
  salon: 'Salon',
  month: 'Month',
};

export const cutKind = (by: CutBy): CellKind => (by === 'month' ? 'month' : 'text');

const FIRST_TIME: ReadonlyMap<string, string> = new Map([
  ['first', 'First visit'],
  ['returning', 'Later visits'],
]);

/** What the keys of a cut are called; unknown ones by themselves, such as months and shapes. */
export async function namesOf(manager: EntityManager, by: CutBy): Promise<(key: string) => string> {
  const named = async (): Promise<ReadonlyMap<string, string>> => {
    if (by === 'first-time') return FIRST_TIME;
    if (by === 'month') return new Map();
    if (by === 'shape') return new Map([['', 'No cut']]);
    const entity = { stylist: Staff, service: Service, salon: Salon }[by];
    const rows = await manager.find(entity, { select: { id: true, name: true } });
    return new Map(rows.map(({ id, name }) => [id, name]));
  };
  const names = await named();
  return (key) => names.get(key) ?? key;
}
