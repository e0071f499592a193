import { Injectable } from '@nestjs/common';
import { Staff } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { REBOOKED_SUMS, REBOOKING_DEFINITION } from './coming-back.js';
import { groupVisits } from './visit-groups.js';
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

const NO_END = '9999-12-31';

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

  /** By month ('YYYY-MM') and stylist, over visits on or after `fromDate`, newest month first. */
  async since(salonId: string, fromDate: string): Promise<RebookingRateReport> {
    const { manager } = this.reader;
    const scope = { salonId, staffId: null, fromDate, today: NO_END, now: 0, zone: 'UTC' };
    const counts = await groupVisits(manager, scope, 'month', {
      groups: {},
      sums: REBOOKED_SUMS,
      also: 'staffId',
      looksUp: true,
    });
    const staff = await manager.find(Staff, { select: { id: true, name: true } });
    const names = new Map(staff.map(({ id, name }) => [id, name]));
    const rows = counts
      .map(({ key, also: staffId, of, count }) => ({
        month: key,
        staffId,
        staffName: names.get(staffId) ?? staffId,
        ...wilson(count, of),
      }))
      .sort((a, b) => b.month.localeCompare(a.month) || a.staffName.localeCompare(b.staffName));
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
