import { Injectable } from '@nestjs/common';
import { Appointment } from '../book/index.js';
import { Visit } from '../cuts/index.js';
import { Staff } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { type Proportion, wilson } from './wilson.js';

export type RebookingRateRow = {
  readonly month: string;
  readonly staffId: string;
  readonly staffName: string;
} & Proportion;

export type RebookingRateReport = {
  readonly definition: string;
  readonly rows: readonly RebookingRateRow[];
  readonly byMonth: readonly ({ readonly month: string } & Proportion)[];
  readonly byStylist: readonly ({ readonly staffId: string; readonly staffName: string } & Proportion)[];
};

export const REBOOKING_DEFINITION =
  'Rebooked at checkout: when the visit was closed, or later the same day, the client held an appointment after it. ' +
  'Counted over all closed visits; an appointment that was cancelled the same day does not count.';

function addUp<K extends string>(rows: readonly RebookingRateRow[], keyOf: (row: RebookingRateRow) => K) {
  const sums = new Map<K, { first: RebookingRateRow; count: number; of: number }>();
  for (const row of rows) {
    const sum = sums.get(keyOf(row)) ?? { first: row, count: 0, of: 0 };
    sum.count += row.count;
    sum.of += row.of;
    sums.set(keyOf(row), sum);
  }
  return [...sums.values()];
}

/** The owner's first question: do clients leave with the next visit in the book? */
@Injectable()
export class RebookingRate {
  constructor(private readonly reader: Reader) {}

  /** By month ('YYYY-MM') and stylist, over visits on or after `fromDate`, newest month first; summed in the database. */
  async since(salonId: string, fromDate: string): Promise<RebookingRateReport> {
    const query = this.reader.manager.createQueryBuilder(Visit, 'v');
    const rebooked = query
      .subQuery()
      .select('1')
      .from(Appointment, 'a')
      .where('a.clientId = v.clientId AND a.startsAt > v.closedAt AND a.bookedAt < v.dayEndsAt')
      .andWhere('(a.cancelledAt IS NULL OR a.cancelledAt >= v.dayEndsAt)')
      .getQuery();
    const raw = await query
      .innerJoin(Staff, 's', 's.id = v.staffId')
      .where('v.salonId = :salonId AND v.visitOn >= :fromDate', { salonId, fromDate })
      .select([
        'substr(v.visitOn, 1, 7) AS "month"',
        'v.staffId AS "staffId"',
        's.name AS "staffName"',
        'COUNT(*) AS "of"',
        `SUM(CASE WHEN EXISTS ${rebooked} THEN 1 ELSE 0 END) AS "count"`,
      ])
      .groupBy('substr(v.visitOn, 1, 7)')
      .addGroupBy('v.staffId')
      .addGroupBy('s.name')
      .orderBy('"month"', 'DESC')
      .addOrderBy('s.name', 'ASC')
      .getRawMany<{
        month: string;
        staffId: string;
        staffName: string;
        of: number | string;
        count: number | string;
      }>();
    const rows = raw.map(({ month, staffId, staffName, of, count }) => ({
      month,
      staffId,
      staffName,
      ...wilson(Number(count), Number(of)),
    }));
    return {
      definition: REBOOKING_DEFINITION,
      rows,
      byMonth: addUp(rows, (row) => row.month).map(({ first, count, of }) => ({
        month: first.month,
        ...wilson(count, of),
      })),
      byStylist: addUp(rows, (row) => row.staffId)
        .map(({ first, count, of }) => ({
          staffId: first.staffId,
          staffName: first.staffName,
          ...wilson(count, of),
        }))
        .sort((a, b) => a.staffName.localeCompare(b.staffName)),
    };
  }
}
