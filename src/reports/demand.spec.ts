import { describe, expect, it } from '@jest/globals';
import { seededUniform } from '../engine/stats/index.js';
import { type DemandClient, type DemandHabits, expectedDemand } from './demand.js';
import { failedByDay, type WindowDays } from './window-spread.js';

const WEEKS = 12;
const NO_HABITS: DemandHabits = {
  returnShare: 1,
  stretch: 1,
  bookedWithin: [1],
  keptShare: 1,
  newVisitsPerDay: 0,
  newVisitMinutes: 0,
};

const FAR_DAYS = 2000;
const known = new Map<string, Float64Array>();

function failedOf(window: WindowDays, stretch: number): Float64Array {
  const key = `${window.earliestDays} ${window.dueDays} ${window.latestDays} ${stretch}`;
  const failed =
    known.get(key) ??
    failedByDay(
      {
        earliestDays: window.earliestDays * stretch,
        dueDays: window.dueDays * stretch,
        latestDays: window.latestDays * stretch,
      },
      FAR_DAYS,
    );
  known.set(key, failed);
  return failed;
}

/** One course of the future, dealt by hand: the day of every visit of one client. */
function deal(client: DemandClient, habits: DemandHabits, length: number, uniform: () => number): number[] {
  const { window, booked } = client;
  const days = booked.filter(() => uniform() < habits.keptShare).map(({ day }) => day);
  if (!window) return days;
  const failed = failedOf(window, habits.stretch);
  const interval = () => {
    const u = uniform();
    const day = failed.findIndex((share) => share >= u);
    return day < 0 ? FAR_DAYS : day;
  };
  let at: number;
  const last = booked.at(-1);
  if (last) {
    if (!days.includes(last.day)) return days;
    at = last.day;
  } else {
    // Draw until she has stayed away as long as she has, and not booked.
    let first: number;
    let lead: number;
    do {
      first = uniform() < habits.returnShare ? interval() : Number.POSITIVE_INFINITY;
      const u = uniform();
      lead = habits.bookedWithin.findIndex((share) => share >= u);
    } while (first < window.daysAgo || (Number.isFinite(first) && lead > first - window.daysAgo));
    at = first - window.daysAgo;
    if (at < length) days.push(at);
  }
  while (at < length && uniform() < habits.returnShare) {
    at += interval();
    if (at < length) days.push(at);
  }
  return days;
}

describe('expectedDemand', () => {
  const client = (changes: Partial<DemandClient>): DemandClient => ({
    window: { earliestDays: 25, dueDays: 35, latestDays: 50, daysAgo: 12 },
    minutes: 45,
    isNew: false,
    booked: [],
    ...changes,
  });

  it('expects nothing of nobody', () => {
    const weeks = expectedDemand([], NO_HABITS, 3, WEEKS);
    expect(weeks).toHaveLength(WEEKS);
    expect(
      weeks.every(({ visits, minutes, visitsHigh }) => visits === 0 && minutes === 0 && visitsHigh === 0),
    ).toBe(true);
  });

  it('agrees with a hand-dealt future of 20,000 draws, for clients of every kind', () => {
    const bookedWithin = [0.1, 0.2, 0.25, 0.3, 0.35, 0.4, 0.5, 0.5, 0.6, 0.7, 0.7, 0.7, 0.8, 0.8, 0.9, 1];
    const habits = { ...NO_HABITS, returnShare: 0.8, keptShare: 0.9, stretch: 1.2, bookedWithin };
    const clients = [
      client({}),
      client({ window: { earliestDays: 14, dueDays: 17, latestDays: 22, daysAgo: 3 }, minutes: 20 }),
      client({ window: { earliestDays: 25, dueDays: 35, latestDays: 50, daysAgo: 90 } }),
      client({ booked: [{ day: 9, minutes: 45 }] }),
      client({ window: null, booked: [{ day: 30, minutes: 90 }] }),
    ];
    const firstDay = 4;
    const length = firstDay + WEEKS * 7;
    const uniform = seededUniform(8);
    const draws = 20_000;
    for (const one of clients) {
      const seen = new Float64Array(WEEKS);
      for (let draw = 0; draw < draws; draw += 1) {
        for (const day of deal(one, habits, length, uniform)) {
          const week = Math.floor((day - firstDay) / 7);
          if (week >= 0) seen[week] = (seen[week] ?? 0) + 1 / draws;
        }
      }
      for (const [week, { visits }] of expectedDemand([one], habits, firstDay, WEEKS).entries()) {
        // Four standard errors of 20,000 draws.
        expect(Math.abs(visits - (seen[week] ?? 0))).toBeLessThan(0.0145);
      }
    }
  });

  it('gives 90 % ranges that hold nine weeks in ten of a dealt salon', () => {
    const habits = { ...NO_HABITS, returnShare: 0.85 };
    const uniform = seededUniform(21);
    const clients = Array.from({ length: 120 }, () =>
      client({
        window: { earliestDays: 22, dueDays: 31, latestDays: 45, daysAgo: 1 + Math.floor(uniform() * 40) },
      }),
    );
    const expected = expectedDemand(clients, habits, 0, WEEKS);
    let held = 0;
    const courses = 200;
    for (let course = 0; course < courses; course += 1) {
      const seen = new Float64Array(WEEKS);
      for (const one of clients) {
        for (const day of deal(one, habits, WEEKS * 7, uniform)) {
          const week = Math.floor(day / 7);
          seen[week] = (seen[week] ?? 0) + 1;
        }
      }
      for (const [week, { visitsLow, visitsHigh }] of expected.entries()) {
        const visits = seen[week] ?? 0;
        // Whole visits against a range of real numbers: half a visit either way.
        if (visits >= visitsLow - 0.5 && visits <= visitsHigh + 0.5) held += 1;
      }
    }
    const share = held / (courses * WEEKS);
    expect(share).toBeGreaterThan(0.88);
    expect(share).toBeLessThan(0.96);
  });

  it('counts an appointment in its own week, with its own length, and what is held apart from what is expected', () => {
    const [first, second] = expectedDemand(
      [client({ window: null, booked: [{ day: 8, minutes: 90 }] })],
      { ...NO_HABITS, keptShare: 0.9 },
      1,
      2,
    );
    expect(first).toMatchObject({ visits: 0, bookedMinutes: 0 });
    expect(second?.visits).toBeCloseTo(0.9, 12);
    expect(second?.minutes).toBeCloseTo(81, 12);
    expect(second?.bookedMinutes).toBe(90);
  });

  it('counts new clients who are in the book already among those to be expected', () => {
    const isNew = { window: null, isNew: true, booked: [{ day: 2, minutes: 45 }] };
    const habits = { ...NO_HABITS, newVisitsPerDay: 3 / 7, newVisitMinutes: 45 };
    const [first, second] = expectedDemand([client(isNew)], habits, 0, 2);
    expect(first?.visits).toBeCloseTo(3, 12);
    expect(second?.visits).toBeCloseTo(3, 12);
  });

  it('lets new clients come at their rate where nobody has a window', () => {
    const weeks = expectedDemand([], { ...NO_HABITS, newVisitsPerDay: 2 / 7, newVisitMinutes: 50 }, 0, 3);
    for (const { visits, minutes } of weeks) {
      expect(visits).toBeCloseTo(2, 12);
      expect(minutes).toBeCloseTo(100, 12);
    }
  });
});
