import type { EntityManager } from 'typeorm';
import { attendanceCounts, reminderCounts } from '../../src/reports/attendance.js';
import { rebookedCounts, returnedCounts } from '../../src/reports/coming-back.js';
import { expectedDemand } from '../../src/reports/demand.js';
import { demandClients, demandHabits } from '../../src/reports/demand-inputs.js';
import { intervalRatios } from '../../src/reports/interval-ratio.js';
import { kaplanMeier } from '../../src/reports/kaplan-meier.js';
import { nudgeCounts } from '../../src/reports/nudges.js';
import { cohortCounts } from '../../src/reports/retention.js';
import type { FigureScope } from '../../src/reports/scope.js';
import { goneByEngineCounts, goneByMeasurementCounts } from '../../src/reports/shape-gone.js';
import { returnTimes } from '../../src/reports/time-to-return.js';
import { useCounts } from '../../src/reports/use.js';
import { valueCounts } from '../../src/reports/value.js';
import { MANY_UNTIL, plantManyVisits } from '../factories/reports.js';
import { makeSalon, openTestStore } from '../factories/salon.js';
import { processorMs } from './processor.js';
import { type BenchOptions, type BenchRow, median, spreadRow, told } from './row.js';

/** A report may take so many times what merely reading its rows does. */
const MOST_TIMES = 3;
const ROUNDS = 5;

/** The columns a report cannot do without, by table: what a bare scan has to read too. */
type Needs = Readonly<Record<string, readonly string[]>>;

const RETURN = ['clientId', 'visitOn', 'nextOn', 'staffId', 'suggestedDueOn', 'suggestedLatestOn'];
const VISIT: Needs = { visit: ['salonId', ...RETURN] };
const APPOINTMENT: Needs = {
  appointment: ['salonId', 'staffId', 'startsAt', 'state', 'cancelledAt'],
};

/** A report over its scan, time and again in turn, so that both meet the machine in the same moods; in order. */
async function ratios(report: () => Promise<unknown>, bare: () => Promise<unknown>) {
  const scans: number[] = [];
  const times: number[] = [];
  for (let round = 0; round < ROUNDS; round += 1) {
    const scanMs = await processorMs(bare);
    scans.push(scanMs);
    times.push((await processorMs(report)) / scanMs);
  }
  return { scanMs: median(scans), times };
}

/** Reads the columns of every row as they lie in the tables, inside the database, and does nothing with them. */
async function scan(manager: EntityManager, needs: Needs): Promise<void> {
  for (const [table, columns] of Object.entries(needs)) {
    const touched = columns.map((column) => `SUM(LENGTH("${column}"))`).join(', ');
    await manager.query(`SELECT COUNT(*), ${touched} FROM "${table}" NOT INDEXED`);
  }
}

/** `BENCH_VISITS=1000000` for a larger book. */
const VISITS = Number(process.env['BENCH_VISITS'] ?? 300_000);

/**
 * Every report over a book of `visits` visits against the bare scan of the rows it needs, on one SQLite file, in one
 * run: the median of the ratios, with their spread.
 */
export async function benchReports({ quick }: BenchOptions): Promise<BenchRow[]> {
  const visits = quick ? 30_000 : VISITS;
  const store = await openTestStore(`${MANY_UNTIL}T08:00:00Z`);
  try {
    const { salon, mara, ilan, fullCut, tidy } = await makeSalon(store);
    const place = {
      salonId: salon.id,
      staffIds: [mara.id, ilan.id] as const,
      serviceIds: [fullCut.id, tidy.id] as const,
    };
    const start = performance.now();
    await plantManyVisits(store.sources.writer, place, { visits, clients: Math.ceil(visits / 20) });
    const plantedMs = performance.now() - start;
    const { manager } = store.reader;
    const scope: FigureScope & { readonly salonId: string } = {
      salonId: salon.id,
      staffId: null,
      fromDate: '2024-05-01',
      today: MANY_UNTIL,
      now: store.clock.now(),
      zone: salon.zone,
    };
    const view = { salon, on: MANY_UNTIL, knownAt: store.clock.now(), live: false };
    const booked = { ...VISIT, appointment: ['clientId', 'startsAt', 'bookedAt', 'cancelledAt'] };
    const shaped = { visit: [...RETURN, 'salonId', 'shape'] };
    const measured = {
      ...VISIT,
      measurement: ['clientId', 'measuredOn', 'zone', 'lengthMm'],
      hold_limit: ['formulaId', 'kind', 'zone', 'value'],
      zone_length: ['formulaId', 'zone', 'leftMm', 'wantedMm'],
    };
    const foreseen = {
      visit: [...RETURN, 'salonId', 'serviceId', 'suggestedEarliestOn', 'firstOn', 'appointmentId'],
      appointment: ['salonId', 'clientId', 'startsAt', 'endsAt', 'state', 'bookedAt', 'cancelledAt'],
    };
    const sent = { message: ['clientId', 'appointmentId', 'kind', 'state', 'sentAt'] };
    const forecast = async () => {
      const habits = await demandHabits(manager, view);
      expectedDemand(await demandClients(manager, view, 84), habits, 0, 12);
    };
    const reports: readonly (readonly [name: string, needs: Needs, run: () => Promise<unknown>])[] = [
      ['rebooked at checkout', booked, () => rebookedCounts(manager, scope, 'stylist')],
      ['back within the window, by stylist', VISIT, () => returnedCounts(manager, scope, 'stylist', 0)],
      ['  by shape', shaped, () => returnedCounts(manager, scope, 'shape', 0)],
      ['  by first visit or later', VISIT, () => returnedCounts(manager, scope, 'first-time', 0)],
      ['  by month, two weeks after', VISIT, () => returnedCounts(manager, scope, 'month', 14)],
      [
        'time to the next visit, with its curve',
        VISIT,
        async () => kaplanMeier([...(await returnTimes(manager, scope, 'service')).values()].flat()),
      ],
      ['actual / suggested interval', VISIT, () => intervalRatios(manager, scope, 'stylist')],
      ['shape gone, by the engine', VISIT, () => goneByEngineCounts(manager, scope, 'stylist')],
      ['shape gone, by measurement', measured, () => goneByMeasurementCounts(manager, scope, 'stylist')],
      ['clients kept', VISIT, () => cohortCounts(manager, scope)],
      [
        'no-shows and late cancellations, by month',
        APPOINTMENT,
        () => attendanceCounts(manager, scope, 'month', 24),
      ],
      ['reminders', { ...APPOINTMENT, ...sent }, () => reminderCounts(manager, scope, 24)],
      ['nudges', { ...VISIT, ...sent }, () => nudgeCounts(manager, scope, { percent: 10, since: 0 })],
      [
        'time used',
        {
          claim: ['staffId', 'startsAt', 'endsAt'],
          visit: ['salonId', 'appointmentId', 'visitOn', 'staffId', 'serviceId'],
        },
        () => useCounts(manager, scope),
      ],
      [
        'value of visits',
        { visit: ['salonId', 'visitOn', 'staffId', 'serviceId', 'priceMinor'] },
        () => valueCounts(manager, scope, 'stylist'),
      ],
      ['forecast of twelve weeks', foreseen, forecast],
    ];
    const rows: BenchRow[] = [told(`${visits} visits planted`, plantedMs, 'ms')];
    for (const [name, needs, run] of reports) {
      const { scanMs, times } = await ratios(run, () => scan(manager, needs));
      const title = `report: ${name} / its scan of ${scanMs.toFixed(0)} ms`;
      rows.push(spreadRow(title, times, 'ratio', MOST_TIMES));
    }
    return rows;
  } finally {
    await store.close();
  }
}
