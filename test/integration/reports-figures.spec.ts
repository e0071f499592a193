import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { addDays, dateIn, daysBetween } from '../../src/base/index.js';
import { Appointment, Claim } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { CutFormula, HoldLimitRow, Measurement, Visit, ZoneLength } from '../../src/cuts/index.js';
import { Message } from '../../src/reminders/index.js';
import { attendanceCounts, reminderCounts } from '../../src/reports/attendance.js';
import { rebookedCounts, returnedCounts } from '../../src/reports/coming-back.js';
import { isHeldOut } from '../../src/reports/held-out.js';
import { intervalRatios } from '../../src/reports/interval-ratio.js';
import { nudgeCounts } from '../../src/reports/nudges.js';
import { cohortCounts } from '../../src/reports/retention.js';
import { CUTS_BY, type CutBy, type FigureScope } from '../../src/reports/scope.js';
import { goneByEngineCounts, goneByMeasurementCounts } from '../../src/reports/shape-gone.js';
import { returnTimes } from '../../src/reports/time-to-return.js';
import { useCounts } from '../../src/reports/use.js';
import { valueCounts } from '../../src/reports/value.js';
import { type HistorySize, plantHistory } from '../factories/reports.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../factories/salon.js';

const ZONE = 'Europe/London';
const TODAY = '2026-11-12';
const NOW = Date.parse(`${TODAY}T11:00:00Z`);
const HOUR_MS = 3_600_000;

/** The whole past in memory, and every figure worked out from it the slow and obvious way, one visit at a time. */
class Slow {
  constructor(
    readonly visits: readonly Visit[],
    readonly appointments: readonly Appointment[],
    readonly claims: readonly Claim[],
    readonly formulas: readonly CutFormula[],
    readonly lengths: readonly ZoneLength[],
    readonly limits: readonly HoldLimitRow[],
    readonly measurements: readonly Measurement[],
    readonly messages: readonly Message[],
    readonly minutesOf: ReadonlyMap<string, number>,
    readonly clients: readonly Client[],
  ) {}

  erasedOn(clientId: string): string | undefined {
    const erasedAt = this.clients.find(({ id }) => id === clientId)?.erasedAt;
    return erasedAt ? dateIn('UTC', erasedAt) : undefined;
  }

  /** Visits whose window and grace are over, of clients who could be seen to come back by then. */
  over(scope: FigureScope, grace: number): Visit[] {
    return this.inScope(scope).filter(({ clientId, suggestedLatestOn: latest }) => {
      if (latest === null) return false;
      const end = addDays(latest, grace);
      return end < TODAY && (this.erasedOn(clientId) ?? '9999') > end;
    });
  }

  static async of({ reader: { manager } }: TestStore, place: TestSalon): Promise<Slow> {
    return new Slow(
      await manager.find(Visit),
      await manager.find(Appointment),
      await manager.find(Claim),
      await manager.find(CutFormula),
      await manager.find(ZoneLength),
      await manager.find(HoldLimitRow),
      await manager.find(Measurement, { order: { id: 'ASC' } }),
      await manager.find(Message),
      new Map([place.fullCut, place.tidy, place.colour].map(({ id, minutes }) => [id, minutes])),
      await manager.find(Client),
    );
  }

  inScope({ fromDate, today, staffId }: FigureScope): Visit[] {
    return this.visits.filter(
      (visit) =>
        visit.visitOn >= fromDate &&
        visit.visitOn <= today &&
        (staffId === null || visit.staffId === staffId),
    );
  }

  next({ clientId, visitOn }: Visit): string | undefined {
    return this.visits
      .filter((other) => other.clientId === clientId && other.visitOn > visitOn)
      .map((other) => other.visitOn)
      .sort()[0];
  }

  shape(formulaId: string | null): string {
    return this.formulas.find(({ id }) => id === formulaId)?.name ?? '';
  }

  key(by: CutBy | null, visit: Visit): string {
    switch (by) {
      case null:
        return '';
      case 'stylist':
        return visit.staffId;
      case 'service':
        return visit.serviceId;
      case 'salon':
        return visit.salonId;
      case 'month':
        return visit.visitOn.slice(0, 7);
      case 'shape':
        return this.shape(visit.formulaId);
      case 'first-time':
        return this.visits.some((other) => other.clientId === visit.clientId && other.visitOn < visit.visitOn)
          ? 'returning'
          : 'first';
    }
  }

  appointmentKey(by: CutBy | null, appointment: Appointment): string {
    const before = this.visits
      .filter((visit) => visit.clientId === appointment.clientId && visit.closedAt < appointment.startsAt)
      .sort((a, b) => b.visitOn.localeCompare(a.visitOn) || b.closedAt - a.closedAt);
    switch (by) {
      case null:
        return '';
      case 'stylist':
        return appointment.staffId;
      case 'service':
        return appointment.serviceId;
      case 'salon':
        return appointment.salonId;
      case 'month':
        return dateIn(ZONE, appointment.startsAt).slice(0, 7);
      case 'shape':
        return this.shape(before.find(({ formulaId }) => formulaId !== null)?.formulaId ?? null);
      case 'first-time':
        return before.length > 0 ? 'returning' : 'first';
    }
  }

  isRebooked(visit: Visit): boolean {
    return this.appointments.some(
      (appointment) =>
        appointment.clientId === visit.clientId &&
        appointment.startsAt > visit.closedAt &&
        appointment.bookedAt < visit.dayEndsAt &&
        (appointment.cancelledAt === null || appointment.cancelledAt >= visit.dayEndsAt),
    );
  }

  /** Undefined where nothing measured on the next arrival can judge a limit of this visit's shape. */
  measuredGone(visit: Visit): boolean | undefined {
    const next = this.next(visit);
    // Measured twice on one day: what was measured first had not been cut yet.
    const on = (zone: string | null) =>
      this.measurements.find((m) => m.clientId === visit.clientId && m.measuredOn === next && m.zone === zone)
        ?.lengthMm;
    const verdicts = this.limits
      .filter(({ formulaId }) => formulaId === visit.formulaId)
      .flatMap(({ kind, zone, against, by, value }): boolean[] => {
        const length = on(zone);
        if (next === undefined || length === undefined) return [];
        const left = this.lengths.find((row) => row.formulaId === visit.formulaId && row.zone === zone);
        const other = on(against);
        if (kind === 'longer-than') return [length > value];
        if (kind === 'grown-by' && left) return [length > Math.min(left.leftMm, left.wantedMm) + value];
        if (kind === 'contrast' && other !== undefined)
          return [by === 'ratio' ? other / length < value : other - length < value];
        return [];
      });
    return verdicts.length === 0 ? undefined : verdicts.includes(true);
  }
}

type Sums = Readonly<Record<string, number>>;

/** Adds up what `of` says of each thing under its key. */
function tally<T>(
  things: readonly T[],
  key: (thing: T) => string,
  of: (thing: T) => Sums,
): Map<string, Sums> {
  const sums = new Map<string, Record<string, number>>();
  for (const thing of things) {
    const sum = sums.get(key(thing)) ?? {};
    for (const [name, number] of Object.entries(of(thing))) sum[name] = (sum[name] ?? 0) + number;
    sums.set(key(thing), sum);
  }
  return sums;
}

function asMap(rows: readonly ({ readonly key: string } & object)[]): Map<string, Sums> {
  return new Map(
    rows.map(({ key, ...sums }) => {
      const { also: _, ...numbers } = sums as Record<string, unknown>;
      return [key, numbers as Sums];
    }),
  );
}

const SIZES: readonly (readonly [string, HistorySize])[] = [
  [
    'a random past across both changes of the clock',
    { clients: 40, mostVisits: 9, firstDay: '2025-09-20', today: TODAY, apart: 60 },
  ],
  ['no client at all', { clients: 0, mostVisits: 5, firstDay: '2026-01-01', today: TODAY, apart: 30 }],
  ['clients who never came', { clients: 3, mostVisits: 0, firstDay: '2026-01-01', today: TODAY, apart: 30 }],
  ['one client', { clients: 1, mostVisits: 30, firstDay: '2025-11-01', today: TODAY, apart: 40 }],
  ['everybody still open', { clients: 12, mostVisits: 1, firstDay: '2026-10-20', today: TODAY, apart: 8 }],
];

describe.each(SIZES)('figures of %s', (name, size) => {
  let store: TestStore;
  let place: TestSalon;
  let slow: Slow;
  let scopes: FigureScope[];
  const seed = 4_711 + SIZES.findIndex(([other]) => other === name);

  beforeAll(async () => {
    store = await openTestStore(`${TODAY}T11:00:00Z`);
    place = await makeSalon(store);
    await plantHistory(store, place, seed, size);
    // One client is erased, with all that hung on her: nothing of her may be counted.
    const [erased] = await store.reader.manager.find(Client, { order: { id: 'ASC' }, take: 1 });
    if (erased && size.clients > 5)
      await store.units.run((manager) => manager.delete(Client, { id: erased.id }));
    // Two more were erased in another way: their visits stay for the sums, and nobody can see them come back.
    const emptied = await store.reader.manager.find(Client, { order: { id: 'DESC' }, take: 2 });
    if (size.clients > 5) {
      for (const [i, { id }] of emptied.entries()) {
        const erasedAt = Date.parse(['2026-06-10T12:00:00Z', '2026-11-10T12:00:00Z'][i] ?? '');
        await store.units.run((manager) => manager.update(Client, { id }, { erasedAt }));
      }
    }
    slow = await Slow.of(store, place);
    const all = {
      salonId: place.salon.id,
      staffId: null,
      fromDate: '2025-09-01',
      today: TODAY,
      now: NOW,
      zone: ZONE,
    };
    scopes = [
      all,
      { ...all, salonId: null },
      { ...all, fromDate: '2026-04-01' },
      { ...all, staffId: place.mara.id },
      { ...all, fromDate: TODAY },
    ];
  });
  afterAll(() => store.close());

  const everyCut = async (check: (scope: FigureScope, by: CutBy | null) => Promise<void>) => {
    for (const scope of scopes) for (const by of [null, ...CUTS_BY]) await check(scope, by);
  };

  it('agree on who was rebooked at checkout, and on the value of visits', () =>
    everyCut(async (scope, by) => {
      const { manager } = store.reader;
      const visits = slow.inScope(scope);
      const key = (visit: Visit) => slow.key(by, visit);
      expect(asMap(await rebookedCounts(manager, scope, by))).toEqual(
        tally(visits, key, (visit) => ({ of: 1, count: Number(slow.isRebooked(visit)) })),
      );
      expect(asMap(await valueCounts(manager, scope, by))).toEqual(
        tally(visits, key, ({ priceMinor, serviceId }) => ({
          visits: 1,
          priceMinor,
          minutes: slow.minutesOf.get(serviceId) ?? Number.NaN,
        })),
      );
    }));

  it('agree on who was back in time, and how long it took', () =>
    everyCut(async (scope, by) => {
      const { manager } = store.reader;
      const key = (visit: Visit) => slow.key(by, visit);
      for (const grace of [0, 14]) {
        const over = slow.over(scope, grace);
        expect(asMap(await returnedCounts(manager, scope, by, grace))).toEqual(
          tally(over, key, (visit) => {
            const next = slow.next(visit);
            return {
              of: 1,
              count: Number(next !== undefined && next <= addDays(visit.suggestedLatestOn as string, grace)),
            };
          }),
        );
      }
      const times = await returnTimes(manager, scope, by);
      const flat = [...times].flatMap(([group, counts]) =>
        counts.map(({ days, ended, open }) => ({ key: `${group} ${days}`, ended, open })),
      );
      expect(asMap(flat)).toEqual(
        tally(
          slow.inScope(scope),
          (visit) =>
            `${key(visit)} ${Math.max(0, daysBetween(visit.visitOn, slow.next(visit) ?? slow.erasedOn(visit.clientId) ?? TODAY))}`,
          (visit) => ({
            ended: Number(slow.next(visit) !== undefined),
            open: Number(slow.next(visit) === undefined),
          }),
        ),
      );
    }));

  it('agree on actual ÷ suggested interval and on shapes gone on arrival', () =>
    everyCut(async (scope, by) => {
      const { manager } = store.reader;
      const key = (visit: Visit) => slow.key(by, visit);
      const back = slow
        .inScope(scope)
        .filter(
          (visit) => visit.suggestedLatestOn !== null && visit.suggestedLatestOn < TODAY && slow.next(visit),
        );
      const isGone = (visit: Visit) =>
        Number((slow.next(visit) as string) >= (visit.suggestedDueOn as string));
      const ratio = (visit: Visit) =>
        daysBetween(visit.visitOn, slow.next(visit) as string) /
        daysBetween(visit.visitOn, visit.suggestedDueOn as string);
      const ratios = [...(await intervalRatios(manager, scope, by))].flatMap(([group, counts]) =>
        counts.map((count) => ({ key: `${group} ${count.ratio}`, count: count.count })),
      );
      expect(
        tally(
          ratios,
          (row) => row.key,
          ({ count }) => ({ count }),
        ),
      ).toEqual(
        tally(
          back,
          (visit) => `${key(visit)} ${ratio(visit)}`,
          () => ({ count: 1 }),
        ),
      );
      expect(asMap(await goneByEngineCounts(manager, scope, by))).toEqual(
        tally(back, key, (visit) => ({ of: 1, count: isGone(visit) })),
      );
      expect(asMap(await goneByMeasurementCounts(manager, scope, by))).toEqual(
        tally(
          back.filter((visit) => slow.measuredGone(visit) !== undefined),
          key,
          (visit) => {
            const gone = Number(slow.measuredGone(visit));
            return { of: 1, count: gone, engine: isGone(visit), agree: Number(gone === isGone(visit)) };
          },
        ),
      );
    }));

  it('agree on no-shows, late cancellations and reminders', () =>
    everyCut(async (scope, by) => {
      const { manager } = store.reader;
      const notice = 24;
      const isLate = ({ state, cancelledAt, startsAt }: Appointment) =>
        state === 'cancelled' && (cancelledAt as number) > startsAt - notice * HOUR_MS;
      const stood = slow.appointments.filter(
        (appointment) =>
          dateIn(ZONE, appointment.startsAt) >= scope.fromDate &&
          appointment.startsAt < NOW &&
          (scope.staffId === null || appointment.staffId === scope.staffId) &&
          (['arrived', 'done', 'no-show'].includes(appointment.state) || isLate(appointment)),
      );
      const counts = asMap(await attendanceCounts(manager, scope, by, notice));
      // A group none of whose appointments stood is a row of noughts.
      for (const [group, { of }] of counts) if (of === 0) counts.delete(group);
      expect(counts).toEqual(
        tally(
          stood,
          (appointment) => slow.appointmentKey(by, appointment),
          (appointment) => ({
            of: 1,
            noShows: Number(appointment.state === 'no-show'),
            late: Number(isLate(appointment)),
          }),
        ),
      );
      if (by !== null) return;
      const fate = ({ id, startsAt }: Appointment) => {
        const own = slow.messages.filter((m) => m.appointmentId === id && m.kind === 'appointment-reminder');
        if (own.some(({ state, sentAt }) => state === 'sent' && (sentAt as number) < startsAt)) return 'sent';
        return own.length > 0 ? 'unsent' : 'none';
      };
      expect(asMap(await reminderCounts(manager, scope, notice))).toEqual(
        tally(stood, fate, ({ state }) => ({
          of: 1,
          count: Number(state === 'no-show' || state === 'cancelled'),
        })),
      );
    }));

  it('agree on nudges, with and without the hold-out', async () => {
    const since = Date.parse('2026-03-01T00:00:00Z');
    for (const scope of scopes) {
      for (const holdOut of [undefined, { percent: 0, since }, { percent: 30, since }]) {
        const isOn = (holdOut?.percent ?? 0) > 0;
        const over = slow.over(scope, 14);
        const key = (visit: Visit) => {
          const until = addDays(visit.suggestedLatestOn as string, 14);
          const end = Date.parse(`${slow.next(visit) ?? until}T00:00:00Z`);
          const nudged = slow.messages.some(
            ({ clientId, kind, state, sentAt }) =>
              clientId === visit.clientId &&
              kind === 'shape-due' &&
              state === 'sent' &&
              (sentAt as number) > visit.closedAt &&
              (sentAt as number) < end,
          );
          const inTrial = isOn && visit.closedAt >= since;
          return [nudged, inTrial && isHeldOut(visit.clientId, 30), inTrial].map(Number).join(' ');
        };
        const counts = await nudgeCounts(store.reader.manager, scope, holdOut);
        expect(
          asMap(
            counts.map(({ nudged, heldOut, inTrial, of, count }) => ({
              key: `${nudged} ${heldOut} ${inTrial}`,
              of,
              count,
            })),
          ),
        ).toEqual(
          tally(over, key, (visit) => ({
            of: 1,
            count: Number((slow.next(visit) ?? '9999') <= addDays(visit.suggestedLatestOn as string, 14)),
          })),
        );
      }
    }
  });

  it('agree on who is kept, by month of the first visit', async () => {
    for (const scope of scopes) {
      const firsts = new Map<string, Visit>();
      for (const visit of [...slow.visits].sort(
        (a, b) => a.visitOn.localeCompare(b.visitOn) || a.closedAt - b.closedAt,
      )) {
        if (!firsts.has(visit.clientId)) firsts.set(visit.clientId, visit);
      }
      const cohort = [...firsts.values()].filter(
        ({ visitOn, staffId }) =>
          visitOn >= scope.fromDate && (scope.staffId === null || staffId === scope.staffId),
      );
      const expected = tally(
        cohort,
        ({ visitOn }) => visitOn.slice(0, 7),
        (first) => {
          const sums: Record<string, number> = { clients: 1 };
          const own = slow.visits.filter(({ clientId }) => clientId === first.clientId);
          for (const k of [1, 2, 3, 4]) {
            const had = daysBetween(first.visitOn, TODAY) > k * 91;
            const days = own.map(({ visitOn }) => daysBetween(first.visitOn, visitOn));
            const came = days.some((day) => day >= (k - 1) * 91 + 1 && day <= k * 91);
            sums[`of${k}`] = Number(had);
            sums[`back${k}`] = Number(had && came);
          }
          return sums;
        },
      );
      const counts = await cohortCounts(store.reader.manager, scope);
      expect(asMap(counts.map(({ month, ...sums }) => ({ key: month, ...sums })))).toEqual(expected);
    }
  });

  it('agree on the time used, in weeks that change the clock too', async () => {
    for (const scope of scopes.filter(({ salonId }) => salonId !== null)) {
      const counts = await useCounts(store.reader.manager, { ...scope, salonId: place.salon.id });
      const staff = [place.mara.id, place.ilan.id].filter(
        (id) => scope.staffId === null || id === scope.staffId,
      );
      const expected = new Map<string, { minutes: number; taken: number }>();
      const add = (staffId: string, date: string, minutes: number, taken: number) => {
        const key = `${staffId} ${date.slice(0, 7)}`;
        const now = expected.get(key) ?? { minutes: 0, taken: 0 };
        expected.set(key, { minutes: now.minutes + minutes, taken: now.taken + taken });
      };
      for (const staffId of staff) {
        // WEEK: 09:00-13:00 and 13:30-18:00 on every day, whatever the clock does at night.
        for (let date = scope.fromDate; date < TODAY; date = addDays(date, 1)) add(staffId, date, 510, 0);
        for (const claim of slow.claims.filter((row) => row.staffId === staffId)) {
          const date = dateIn(ZONE, claim.startsAt);
          if (date < scope.fromDate || date >= TODAY) continue;
          add(staffId, date, 0, (claim.endsAt - claim.startsAt) / 60_000);
        }
        for (const visit of slow.visits.filter(
          (row) => row.staffId === staffId && row.appointmentId === null,
        )) {
          if (visit.visitOn < scope.fromDate || visit.visitOn >= TODAY) continue;
          add(staffId, visit.visitOn, 0, slow.minutesOf.get(visit.serviceId) ?? Number.NaN);
        }
      }
      expect(
        new Map(counts.map(({ key, month, minutes, taken }) => [`${key} ${month}`, { minutes, taken }])),
      ).toEqual(expected);
    }
  });
});
