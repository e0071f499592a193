import { describe, expect, it } from '@jest/globals';
import { buildHead } from '../head/index.js';
import { guideLineZ } from './guide-line.js';

describe('the line a guide is cut along', () => {
  const head = buildHead({ rootCount: 200 });

  it('is the hairline in front of the ear and behind it', () => {
    for (let az = 0; az <= 180; az += 0.5) {
      if (az > 84 && az < 118) continue;
      expect(guideLineZ(az)).toBeCloseTo(head.hairlineZ(az), 9);
      expect(guideLineZ(-az)).toBe(guideLineZ(az));
    }
  });

  it('runs straight across the ear at the height of the sideburn, and on to the hairline behind', () => {
    expect([80, 86, 92, 100].map(guideLineZ)).toEqual([-38, -38, -38, -38]);
    // From -38 at 100 degrees to -62 at 118.
    expect(guideLineZ(109)).toBeCloseTo(-50, 12);
    expect(head.hairlineZ(92) - guideLineZ(92)).toBeCloseTo(26, 12);
  });
});
