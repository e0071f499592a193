import { describe, expect, it } from '@jest/globals';

import { growthPrior, initialProfile } from '../growth/index.js';
import { rebookingWindow } from './index.js';

const profile = initialProfile(growthPrior());

describe('rebookingWindow', () => {
  // Arithmetic of the trade figure 0.35 mm a day: 13 / 0.35 = 37.1, 6 / 0.35 = 17.1.
  it('gives 37 days from a fringe at the brow to the lid margin', () => {
    const window = rebookingWindow({
      profile,
      cutOn: '2026-03-02',
      zones: [{ zone: 'fringe', leftMm: 60, leftSdMm: 0 }],
      limits: [{ kind: 'landmark', zone: 'fringe', landmark: 'upper lid margin', allowanceMm: 13 }],
    });
    expect(window.dueDays).toBe(37);
    expect(window.dueOn).toBe('2026-04-08');
    expect(window.first.reason).toBe('the fringe reaches the upper lid margin');
  });

  it('gives 17 days until a 6 mm nape has doubled', () => {
    const window = rebookingWindow({
      profile,
      cutOn: '2026-03-02',
      zones: [{ zone: 'nape', leftMm: 6, leftSdMm: 0 }],
      limits: [{ kind: 'longer-than', zone: 'nape', mm: 12 }],
    });
    expect(window.dueDays).toBe(17);
    expect(window.earliestDays).toBeLessThan(17);
    expect(window.latestDays).toBeGreaterThan(17);
  });
});
