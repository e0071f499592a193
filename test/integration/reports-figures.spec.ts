import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { addDays, dateIn, daysBetween } from '../../src/base/index.js';
import { Appointment, Claim } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { CutFormula, Measurement, Visit } from '../../src/cuts/index.js';
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
import { Closure, OpeningHours, Resource } from '../../src/salon/index.js';
import { newId } from '../../src/store/index.js';
import { type HistorySize, plantHistory } from '../factories/reports.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../factories/salon.js';
import { asMap, keptBeside, SlowFigures, tally } from '../factories/slow-figures.js';

const ZONE = 'Europe/London';
const TODAY = '2026-11-12';
const NOW = Date.parse(`${TODAY}T11:00:00Z`);
const HOUR_MS = 3_600_000;

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

/** All that was one client's becomes the other's, as when two records of one person are put together. */
function merge({ units }: TestStore, clientId: string, otherId: string): Promise<void> {
  return units.run(async (manager) => {
    for (const entity of [Visit, Appointment, CutFormula, Measurement, Message]) {
      await manager.update(entity, { clientId: otherId }, { clientId });
    }
    await manager.delete(Client, { id: otherId });
  });
}

/** Over a change of the clock. */
const SHUT = { startsOn: '2026-03-28', endsOn: '2026-03-31' };
const OPENS = { opensAt: '08:30', closesAt: '19:15' };

/** Two chairs, one that stands unused now, and a basin; every other appointment holds one of them. */
async function placeChairs({ units, reader }: TestStore, { salon }: TestSalon): Promise<void> {
  const resources = (['chair', 'chair', 'chair', 'wash-basin'] as const).map((kind, i) => ({
    id: newId(),
    version: 1,
    salonId: salon.id,
    kind,
    name: `${kind} ${i + 1}`,
    active: i !== 2,
  }));
  const claims = await reader.manager.find(Claim, { order: { id: 'ASC' } });
  await units.run(async (manager) => {
    await manager.insert(Resource, resources);
    for (let weekday = 1; weekday <= 6; weekday += 1) {
      await manager.insert(OpeningHours, { id: newId(), salonId: salon.id, weekday, ...OPENS });
    }
    const held = claims
      .filter((_, i) => i % 2 === 0)
      .map(({ appointmentId, startsAt, endsAt }, i) => ({
        id: newId(),
        appointmentId,
        resourceId: resources[i % 4]!.id,
        startsAt,
        endsAt,
      }));
    await manager.insert(Claim, held);
    await manager.insert(Closure, {
      id: newId(),
      salonId: salon.id,
      ...SHUT,
      reason: 'Shut over the change of the clock',
    });
  });
}

describe.each(SIZES)('figures of %s', (name, size) => {
  let store: TestStore;
  let place: TestSalon;
  let slow: SlowFigures;
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
    // Of two that were one client all along, one takes over everything of the other.
    const [stays, goes] = await store.reader.manager.find(Client, {
      order: { familyName: 'ASC' },
      take: 2,
    });
    if (stays && goes && size.clients > 5) await merge(store, stays.id, goes.id);
    await placeChairs(store, place);
    slow = await SlowFigures.of(store, place, TODAY);
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

  it('find beside each visit what the others say, after a merge and removals too', async () => {
    const { visits } = slow;
    expect(await keptBeside(store)).toEqual(new Map(visits.map((visit) => [visit.id, slow.kept(visit)])));
  });

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
      const add = (who: string, date: string, minutes: number, taken: number) => {
        const key = `${who} ${date.slice(0, 7)}`;
        const now = expected.get(key) ?? { minutes: 0, taken: 0 };
        expected.set(key, { minutes: now.minutes + minutes, taken: now.taken + taken });
      };
      const isDay = (date: string) => date >= scope.fromDate && date < TODAY;
      const takeClaims = (who: string, claims: readonly Claim[]) => {
        for (const { startsAt, endsAt } of claims) {
          const date = dateIn(ZONE, startsAt);
          if (isDay(date)) add(who, date, 0, (endsAt - startsAt) / 60_000);
        }
      };
      const openDays: string[] = [];
      for (let date = scope.fromDate; isDay(date); date = addDays(date, 1)) {
        if (date < SHUT.startsOn || date > SHUT.endsOn) openDays.push(date);
      }
      for (const staffId of staff) {
        // WEEK: 09:00-13:00 and 13:30-18:00 on every day, whatever the clock does at night.
        for (const date of openDays) add(`stylist ${staffId}`, date, 510, 0);
        takeClaims(
          `stylist ${staffId}`,
          slow.claims.filter((row) => row.staffId === staffId),
        );
        for (const visit of slow.visits) {
          if (visit.staffId !== staffId || visit.appointmentId !== null || !isDay(visit.visitOn)) continue;
          add(`stylist ${staffId}`, visit.visitOn, 0, slow.minutesOf.get(visit.serviceId) ?? Number.NaN);
        }
      }
      if (scope.staffId === null) {
        // Two chairs stand there now; the door is open from 08:30 to 19:15, but not on Sundays.
        for (const date of openDays) {
          if (new Date(`${date}T12:00:00Z`).getUTCDay() !== 0) add('chair ', date, 2 * 645, 0);
        }
        const resources = await store.reader.manager.findBy(Resource, { kind: 'chair' });
        const chairs = new Set(resources.map(({ id }) => id));
        expect(chairs.size).toBe(3);
        takeClaims(
          'chair ',
          slow.claims.filter(({ resourceId }) => chairs.has(resourceId ?? '')),
        );
      }
      expect(
        new Map(
          counts.map(({ kind, key, month, minutes, taken }) => [
            `${kind} ${key} ${month}`,
            { minutes, taken },
          ]),
        ),
      ).toEqual(expected);
    }
  });
});
