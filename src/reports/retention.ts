import type { EntityManager } from 'typeorm';
import { ask, daysSql, fence, one } from './ask.js';
import { type Cell, type Figure, type FigureRow, interval, SMALL_GROUP } from './figure.js';
import type { FigureScope } from './scope.js';
import { scopeValues, visitsByClient } from './visit-groups.js';
import { wilson } from './wilson.js';

const BLOCK_DAYS = 91;
const BLOCKS = [1, 2, 3, 4] as const;
type Block = (typeof BLOCKS)[number];

type BlockCounts = { readonly [K in Block as `of${K}` | `back${K}`]: number };
export type CohortCounts = { readonly month: string; readonly clients: number } & BlockCounts;

/**
 * Clients by the month of their first visit since `scope.fromDate`: for each quarter of a year after it, how many have
 * had the whole of it (`of`) and how many of those came in it (`back`). Of a stylist: clients whose first visit was hers.
 */
export async function cohortCounts(manager: EntityManager, scope: FigureScope): Promise<CohortCounts[]> {
  const firstStaff = `(SELECT p."staffId" FROM visit p WHERE p."clientId" = v."clientId" ORDER BY p."visitOn", p."closedAt" LIMIT 1)`;
  // The first day is block 0, the days 1 to 91 after it block 1.
  const block = `(${daysSql(manager, 'v."firstOn"', 'v."visitOn"')} + ${BLOCK_DAYS - 1}) / ${BLOCK_DAYS}`;
  const bits = BLOCKS.map((k) => `WHEN ${k} THEN ${2 ** k}`).join(' ');
  const had = (k: Block) => `${daysSql(manager, 'c."firstOn"', ':today')} > ${k * BLOCK_DAYS}`;
  const columns = BLOCKS.map(
    (k) =>
      `SUM(${one(had(k))}) AS "of${k}", SUM(${one(`${had(k)} AND (c.came & ${2 ** k}) > 0`)}) AS "back${k}"`,
  );
  const all = { fromDate: '0001-01-01', today: scope.today };
  return await ask<CohortCounts>(
    manager,
    `SELECT substr(c."firstOn", 1, 7) AS "month", COUNT(*) AS "clients", ${columns.join(', ')}
     FROM (
       SELECT v."clientId", MIN(v."firstOn") AS "firstOn", SUM(DISTINCT CASE ${block} ${bits} ELSE 0 END) AS came
       FROM ${visitsByClient(manager, all)}
       WHERE v."visitOn" <= :today AND v."firstOn" >= :fromDate ${scope.salonId === null ? '' : 'AND v."salonId" = :salonId'}
       GROUP BY v."clientId" ${scope.staffId === null ? '' : `HAVING ${firstStaff} = :staffId`} ${fence(manager)}
     ) c GROUP BY substr(c."firstOn", 1, 7) ORDER BY 1 DESC`,
    scopeValues(scope),
    ['clients', ...BLOCKS.flatMap((k) => [`of${k}`, `back${k}`] as const)],
  );
}

const blockWords = (k: Block) => `Weeks ${(k - 1) * 13 + 1}–${k * 13}`;

function rowOf(name: string, counts: CohortCounts, whole = false): FigureRow {
  const cells: Record<string, Cell> = { group: name, clients: counts.clients };
  for (const k of BLOCKS) {
    const share = wilson(counts[`back${k}`], counts[`of${k}`]);
    cells[`of${k}`] = share.of;
    cells[`share${k}`] = share.of === 0 ? null : share.share;
    cells[`low${k}`] = share.of === 0 ? null : share.low;
    cells[`high${k}`] = share.of === 0 ? null : share.high;
  }
  return { cells, small: counts.clients < SMALL_GROUP, whole };
}

/** Retention by cohort of first visit. */
export async function retentionFigure(manager: EntityManager, scope: FigureScope): Promise<Figure> {
  const cohorts = await cohortCounts(manager, scope);
  const all = cohorts.reduce<CohortCounts>(
    (sum, cohort) =>
      Object.fromEntries(
        Object.entries(sum).map(([key, value]) =>
          key === 'month' ? [key, value] : [key, Number(value) + Number(cohort[key as keyof CohortCounts])],
        ),
      ) as CohortCounts,
    {
      month: '',
      clients: 0,
      ...(Object.fromEntries(
        BLOCKS.flatMap((k) => [
          [`of${k}`, 0],
          [`back${k}`, 0],
        ]),
      ) as BlockCounts),
    },
  );
  const shown = BLOCKS.filter((k) => all[`of${k}`] >= SMALL_GROUP);
  return {
    key: 'retention',
    title: 'Clients kept, by month of the first visit',
    definition:
      'Of the clients whose first recorded visit was in a month, the share that came at least once in each quarter of a year after it. ' +
      'A client counts in a quarter only once she has had the whole of it.',
    caution: 'Clients who came before records were kept look new in the first months.',
    columns: [
      { key: 'group', label: 'First visit', kind: 'month' },
      { key: 'clients', label: 'Clients', kind: 'count' },
      ...BLOCKS.flatMap((k) => [
        { key: `of${k}`, label: `Had ${blockWords(k).toLowerCase()}`, kind: 'count' as const, detail: true },
        { key: `share${k}`, label: blockWords(k), kind: 'share' as const },
        ...interval('share', `low${k}`, `high${k}`),
      ]),
    ],
    rows: [rowOf('All', all, true), ...cohorts.map((cohort) => rowOf(cohort.month, cohort))],
    ...(shown.length > 0 && {
      chart: {
        kind: 'shares' as const,
        x: 'Came in that quarter, % of clients who have had it',
        rows: shown.map((k) => ({ name: blockWords(k), ...wilson(all[`back${k}`], all[`of${k}`]) })),
      },
    }),
  };
}
