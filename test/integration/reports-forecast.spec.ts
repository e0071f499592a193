import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { addDays, dateIn, dayBounds, daysBetween } from '../../src/base/index.js';
import { Appointment } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { Visit } from '../../src/cuts/index.js';
import { ShapeWindow } from '../../src/rebooking/index.js';
import {
  capacityMinutes,
  type DemandView,
  demandClients,
  demandHabits,
  returnsAndRatios,
} from '../../src/reports/demand-inputs.js';
import { Forecasts } from '../../src/reports/forecasts.js';
import { DemandForecast } from '../../src/reports/index.js';
import { intervalRatios, ratioQuantile } from '../../src/reports/interval-ratio.js';
import { kaplanMeier } from '../../src/reports/kaplan-meier.js';
import { returnTimes } from '../../src/reports/time-to-return.js';
import { newId } from '../../src/store/index.js';
import { plantHistory } from '../factories/reports.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../factories/salon.js';

const ZONE = 'Europe/London';
const TODAY = '2026-11-12';

describe('forecast', () => {
  let store: TestStore;
  let place: TestSalon;
  let visits: Visit[];
  let appointments: Appointment[];

  beforeAll(async () => {
    store = await openTestStore(`${TODAY}T11:00:00Z`);
    place = await makeSalon(store);
    await plantHistory(store, place, 77, {
      clients: 60,
      mostVisits: 12,
      firstDay: '2025-09-20',
      // Some of it lies ahead of the days on which forecasts are made below.
      today: TODAY,
      apart: 55,
    });
    const [erased] = await store.reader.manager.find(Client, { take: 1 });
    await store.units.run((manager) => manager.delete(Client, { id: erased?.id ?? '' }));
    visits = await store.reader.manager.find(Visit);
    appointments = await store.reader.manager.find(Appointment);
  });
  afterAll(() => store.close());

  const minutesOf = (serviceId: string) =>
    [place.fullCut, place.tidy, place.colour].find(({ id }) => id === serviceId)?.minutes;

  /** One line a client: her last window before the day, and what she held as the book stood then. */
  const slowClients = ({ on, knownAt }: DemandView, length: number): string[] => {
    const ids = new Set([...visits, ...appointments].map(({ clientId }) => clientId));
    return [...ids].flatMap((clientId) => {
      const own = visits.filter((visit) => visit.clientId === clientId && visit.visitOn < on);
      const last = own
        .filter((visit) => visit.suggestedDueOn !== null && visit.visitOn >= addDays(on, -730))
        .sort((a, b) => b.visitOn.localeCompare(a.visitOn))[0];
      const booked = appointments
        .filter(
          (appointment) =>
            appointment.clientId === clientId &&
            appointment.startsAt >= dayBounds(ZONE, on).startsAt &&
            dateIn(ZONE, appointment.startsAt) < addDays(on, length) &&
            appointment.bookedAt <= knownAt &&
            (appointment.cancelledAt === null || appointment.cancelledAt > knownAt),
        )
        .sort((a, b) => a.startsAt - b.startsAt)
        .map(({ startsAt, endsAt }) => ({
          day: daysBetween(on, dateIn(ZONE, startsAt)),
          minutes: (endsAt - startsAt) / 60_000,
        }));
      if (!last && booked.length === 0) return [];
      const from = (date: string | null) => daysBetween(last?.visitOn ?? '', date ?? '');
      return JSON.stringify({
        window: last
          ? {
              daysAgo: daysBetween(last.visitOn, on),
              earliestDays: from(last.suggestedEarliestOn),
              dueDays: from(last.suggestedDueOn),
              latestDays: from(last.suggestedLatestOn),
            }
          : null,
        minutes: last ? minutesOf(last.serviceId) : booked[0]?.minutes,
        isNew: !last && own.length === 0,
        booked,
      });
    });
  };

  it.each(['2026-03-25', '2026-10-21', '2026-08-03', TODAY])(
    'sees each client on %s as she stood that day',
    async (on) => {
      const view = { salon: place.salon, on, knownAt: dayBounds(ZONE, on).startsAt, live: false };
      const clients = await demandClients(store.reader.manager, view, 90);
      // Of two windows given on one day either may be taken.
      const twice = visits.some((a) =>
        visits.some((b) => a.id !== b.id && a.clientId === b.clientId && a.visitOn === b.visitOn),
      );
      expect(twice).toBe(true);
      const same = new Set(slowClients(view, 90));
      const strange = clients.filter((client) => !same.has(JSON.stringify(client)));
      expect(clients).toHaveLength(same.size);
      expect(strange.length).toBeLessThanOrEqual(2);
    },
  );

  it('knows habits only from before the day', async () => {
    const on = '2026-08-03';
    const view = { salon: place.salon, on, knownAt: dayBounds(ZONE, on).startsAt, live: false };
    const before = await demandHabits(store.reader.manager, view);
    const later = newId();
    await store.units.run((manager) =>
      manager.insert(Visit, {
        ...(visits[0] as Visit),
        id: later,
        appointmentId: null,
        visitOn: addDays(on, 3),
      }),
    );
    expect(await demandHabits(store.reader.manager, view)).toEqual(before);
    await store.units.run((manager) => manager.delete(Visit, { id: later }));
    expect(before.bookedWithin.at(-1)).toBeCloseTo(1, 12);
    expect(before.keptShare).toBeLessThan(1);
  });

  it('takes from one look what two figures say each by itself', async () => {
    const { manager } = store.reader;
    for (const today of ['2026-08-02', TODAY]) {
      const scope = {
        salonId: place.salon.id,
        staffId: null,
        fromDate: '2025-10-01',
        today,
        now: dayBounds(ZONE, today).startsAt,
        zone: ZONE,
      };
      const { times, ratios } = await returnsAndRatios(manager, scope);
      const alone = [...(await returnTimes(manager, scope, null)).values()].flat();
      expect(alone.length).toBeGreaterThan(20);
      expect(kaplanMeier(times)).toEqual(kaplanMeier(alone));
      const aloneRatios = (await intervalRatios(manager, scope, null)).get('') ?? [];
      for (const q of [0.1, 0.5, 0.9]) {
        expect(ratioQuantile(ratios, q)).toBe(ratioQuantile(aloneRatios, q));
      }
    }
  });

  it('gives each week the rota’s hours, the week that changes the clock too', async () => {
    // Two stylists, 8.5 hours a day (WEEK in the factory); 29 March and 25 October 2026 change the clock.
    const mondays = ['2026-03-23', '2026-06-01', '2026-10-19'];
    for (const monday of mondays) {
      expect(await capacityMinutes(store.reader.manager, place.salon, [monday])).toEqual([2 * 7 * 510]);
    }
  });

  it('is made once a week, tried on the past once, kept as it was said, and scored', async () => {
    const forecasts = new Forecasts(store.units, store.reader, store.clock);
    const { id } = place.salon;
    expect(await forecasts.latest(id)).toEqual([]);
    expect(await forecasts.keepUp(place.salon)).toBe(true);
    const made = await forecasts.latest(id);
    expect(made).toHaveLength(12);
    expect(made[0]?.weekStartsOn).toBe('2026-11-16');
    expect(made.every(({ afterwards }) => !afterwards)).toBe(true);
    const count = () => store.reader.manager.count(DemandForecast);
    const all = await count();
    // Sixteen Mondays before this week's, twelve weeks each, and this week's own.
    expect(all).toBe(17 * 12);
    expect(await forecasts.keepUp(place.salon)).toBe(false);
    expect(await forecasts.latest(id)).toEqual(made);
    expect(await count()).toBe(all);

    const scored = await forecasts.scored(place.salon);
    expect(scored).toHaveLength(12);
    for (const week of scored) {
      const sunday = addDays(week.weekStartsOn, 6);
      const came = visits.filter(({ visitOn }) => visitOn >= week.weekStartsOn && visitOn <= sunday);
      expect(week.visits).toBe(came.length);
      expect(week.forecast.madeOn).toBe(week.weekStartsOn);
      expect(week.early?.madeOn).toBe(addDays(week.weekStartsOn, -28));
      const before = visits.filter(
        ({ visitOn }) => visitOn >= addDays(week.weekStartsOn, -56) && visitOn < week.weekStartsOn,
      );
      expect(week.plainGuess).toBe(before.length / 8);
    }

    store.clock.at = Date.parse('2026-11-16T09:00:00Z');
    expect(await forecasts.keepUp(place.salon)).toBe(true);
    const next = await forecasts.latest(id);
    expect(next[0]).toMatchObject({ madeOn: '2026-11-16', weekStartsOn: '2026-11-16' });
    expect(await count()).toBe(all + 12);
    store.clock.at = Date.parse(`${TODAY}T11:00:00Z`);
  });

  it('asks the window as it stands now for today, and the one suggested then for the past', async () => {
    const view = { salon: place.salon, on: TODAY, knownAt: store.clock.now(), live: true };
    const last = visits
      .filter(({ formulaId, suggestedDueOn }) => formulaId !== null && suggestedDueOn !== null)
      .sort((a, b) => b.visitOn.localeCompare(a.visitOn))[0] as Visit;
    await store.units.run((manager) =>
      manager.insert(ShapeWindow, {
        id: newId(),
        salonId: place.salon.id,
        clientId: last.clientId,
        formulaId: last.formulaId as string,
        earliestOn: addDays(last.visitOn, 301),
        dueOn: addDays(last.visitOn, 302),
        latestOn: addDays(last.visitOn, 303),
        firstZone: 'nape',
        reason: '',
        packed: '',
        cutOn: last.visitOn,
        computedAt: 0,
      }),
    );
    const due = async (live: boolean) =>
      (await demandClients(store.reader.manager, { ...view, live }, 90)).filter(
        ({ window }) => window?.dueDays === 302,
      ).length;
    expect(await due(true)).toBe(1);
    expect(await due(false)).toBe(0);
  });

  it('expects nothing of a client once she is erased, and did before', async () => {
    const on = '2026-08-03';
    const view = { salon: place.salon, on, knownAt: dayBounds(ZONE, on).startsAt, live: false };
    const windows = async () =>
      (await demandClients(store.reader.manager, view, 90)).filter(({ window }) => window !== null).length;
    const before = await windows();
    const { clientId } = visits.find(
      (visit) => visit.suggestedDueOn !== null && visit.visitOn < on && visit.visitOn > addDays(on, -200),
    ) as Visit;
    const erase = (erasedAt: number | null) =>
      store.units.run((manager) => manager.update(Client, { id: clientId }, { erasedAt }));
    await erase(view.knownAt - 1);
    expect(await windows()).toBe(before - 1);
    await erase(view.knownAt + 1);
    expect(await windows()).toBe(before);
    await erase(null);
  });

  it('waits until somebody has come', async () => {
    const empty = await openTestStore(`${TODAY}T11:00:00Z`);
    try {
      const { salon } = await makeSalon(empty);
      const forecasts = new Forecasts(empty.units, empty.reader, empty.clock);
      expect(await forecasts.keepUp(salon)).toBe(false);
      expect(await forecasts.latest(salon.id)).toEqual([]);
      expect(await forecasts.scored(salon)).toEqual([]);
    } finally {
      await empty.close();
    }
  });
});
