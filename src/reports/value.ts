import type { EntityManager } from 'typeorm';
import { Service } from '../salon/index.js';
import { type Figure, type FigureRow, SMALL_GROUP } from './figure.js';
import { inOrder } from './in-order.js';
import { CUT_WORDS, cutKind, namesOf } from './names.js';
import type { CutBy, FigureScope } from './scope.js';
import { groupVisits } from './visit-groups.js';

export type ValueCounts = {
  readonly key: string;
  readonly visits: number;
  readonly priceMinor: number;
  /** By the length of the services. */
  readonly minutes: number;
};

export async function valueCounts(
  manager: EntityManager,
  scope: FigureScope,
  by: CutBy | null,
): Promise<ValueCounts[]> {
  const counts = await groupVisits(manager, scope, by, {
    groups: {},
    sums: { visits: '1', priceMinor: 'x."priceMinor"' },
    also: 'serviceId',
  });
  const services = await manager.find(Service, { select: { id: true, minutes: true } });
  const minutesOf = new Map(services.map(({ id, minutes }) => [id, minutes]));
  const sums = new Map<string, ValueCounts>();
  for (const { key, also, visits, priceMinor } of counts) {
    const sum = sums.get(key) ?? { key, visits: 0, priceMinor: 0, minutes: 0 };
    sums.set(key, {
      key,
      visits: sum.visits + visits,
      priceMinor: sum.priceMinor + priceMinor,
      minutes: sum.minutes + visits * (minutesOf.get(also) ?? 0),
    });
  }
  return [...sums.values()];
}

function rowOf(
  name: string,
  { visits, priceMinor, minutes }: Omit<ValueCounts, 'key'>,
  whole = false,
): FigureRow {
  return {
    cells: {
      group: name,
      visits,
      total: priceMinor,
      each: visits === 0 ? null : priceMinor / visits,
      hour: minutes === 0 ? null : (priceMinor * 60) / minutes,
    },
    small: visits < SMALL_GROUP,
    whole,
  };
}

/** What visits came to. */
export async function valueFigure(manager: EntityManager, scope: FigureScope, by: CutBy): Promise<Figure> {
  const counts = await valueCounts(manager, scope, by);
  const nameOf = await namesOf(manager, by);
  const groups = counts.map((group) => ({ ...group, name: nameOf(group.key), of: group.visits }));
  const all = { visits: 0, priceMinor: 0, minutes: 0 };
  for (const { visits, priceMinor, minutes } of counts) {
    all.visits += visits;
    all.priceMinor += priceMinor;
    all.minutes += minutes;
  }
  return {
    key: 'value',
    title: 'Value of visits',
    definition:
      'The price recorded when each visit was closed, as it was then. Per hour: divided by the time the service is meant to take.',
    columns: [
      { key: 'group', label: CUT_WORDS[by], kind: cutKind(by) },
      { key: 'visits', label: 'Visits', kind: 'count' },
      { key: 'total', label: 'Together', kind: 'money' },
      { key: 'each', label: 'Per visit', kind: 'money' },
      { key: 'hour', label: 'Per hour in the chair', kind: 'money' },
    ],
    rows: [
      rowOf('All', all, true),
      ...inOrder(by, groups, ({ priceMinor }) => priceMinor).map((group) =>
        rowOf(by === 'month' ? group.key : group.name, group),
      ),
    ],
  };
}
