import { describe, expect, it } from '@jest/globals';
import { growthPrior, initialProfile } from '../engine/growth/index.js';
import { rebookingWindow } from '../engine/plan/index.js';
import { failedByDay } from './window-spread.js';

describe('failedByDay', () => {
  it('passes the three dates of the window and only ever rises', () => {
    const failed = failedByDay({ earliestDays: 20, dueDays: 33, latestDays: 51 }, 400);
    expect(failed[0]).toBe(0);
    expect(failed[20]).toBeCloseTo(0.1, 12);
    expect(failed[33]).toBeCloseTo(0.5, 12);
    expect(failed[51]).toBeCloseTo(0.9, 12);
    expect(failed.every((now, day) => day === 0 || now >= (failed[day - 1] ?? 0))).toBe(true);
    expect(failed[400]).toBeLessThanOrEqual(1);
  });

  it('bears windows whose dates fall together', () => {
    for (const window of [
      { earliestDays: 0, dueDays: 0, latestDays: 0 },
      { earliestDays: 9, dueDays: 9, latestDays: 9 },
    ]) {
      expect([...failedByDay(window, 60)].every((share) => share >= 0 && share <= 1)).toBe(true);
    }
    expect(failedByDay({ earliestDays: 9, dueDays: 9, latestDays: 9 }, 60)[12]).toBeGreaterThan(0.9);
  });

  // The engine's own survival is the distribution that the three dates sum up.
  it('stays within 4 points of the engine’s own distribution', () => {
    const window = rebookingWindow({
      profile: initialProfile(growthPrior()),
      cutOn: '2026-03-02',
      zones: [
        { zone: 'nape', leftMm: 6, leftSdMm: 1 },
        { zone: 'back', leftMm: 25, leftSdMm: 5 },
        { zone: 'fringe', leftMm: 80, leftSdMm: 5 },
      ],
      limits: [
        { kind: 'longer-than', zone: 'nape', mm: 16 },
        { kind: 'grown-by', zone: 'back', mm: 14 },
        { kind: 'longer-than', zone: 'fringe', mm: 95 },
      ],
    });
    const failed = failedByDay(window, 120);
    for (let day = 1; day <= 120; day += 1) {
      expect(Math.abs((failed[day] ?? 0) - (1 - window.survival(day)))).toBeLessThan(0.04);
    }
  });
});
