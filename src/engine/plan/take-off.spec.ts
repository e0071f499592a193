import { describe, expect, it } from '@jest/globals';

import { growthPrior, initialProfile, projectLength } from '../growth/index.js';
import { takeOff } from './index.js';

// Six weeks at 0.35 mm a day: 14.7 mm on 60 (arithmetic of the trade figure).
const projectedMm = projectLength(initialProfile(growthPrior()), {
  zone: 'back',
  leftMm: 60,
  leftSdMm: 2,
  days: 42,
});

describe('takeOff', () => {
  it('takes off what has grown, with its interval', () => {
    const today = takeOff({ projectedMm, wantedMm: 60 });
    expect(today.meanMm).toBeCloseTo(14.7, 10);
    expect(today.highMm - today.lowMm).toBeCloseTo(projectedMm.highMm - projectedMm.lowMm, 10);
    expect(today).toMatchObject({ missingMm: 0, words: 'take off 15 mm' });
  });

  it('says what is missing', () => {
    const today = takeOff({ projectedMm, wantedMm: 90 });
    expect(today.missingMm).toBeCloseTo(15.3, 10);
    expect(today.words).toBe('too short today, 15 mm missing');
    expect(takeOff({ projectedMm, wantedMm: 74.9 }).words).toBe('as wanted today, nothing to take off');
  });

  it('refuses an impossible wish', () => {
    expect(() => takeOff({ projectedMm, wantedMm: -3 })).toThrow(
      expect.objectContaining({ field: 'wantedMm' }),
    );
  });
});
