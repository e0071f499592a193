import { describe, expect, it } from '@jest/globals';

import { growthPrior, initialProfile } from '../growth/index.js';
import type { Zone } from '../zones.js';
import { zoneHolds } from './hold-days.js';
import type { HoldLimit } from './limits.js';

/** Every zone grows 0.35 mm a day, but the back 0.3: its own part of the rate is 0.05 below the mean. */
const prior = initialProfile(growthPrior());
const profile = { ...prior, mean: [0, 0, 0, 0, 0, 0, -0.05, 0] };
const zones = (['top', 'back', 'nape'] as const).map((zone) => ({
  zone,
  leftMm: { top: 90, back: 60, nape: 8 }[zone],
  leftSdMm: 2,
}));
const holds = (limits: readonly HoldLimit[], tidies: readonly (readonly Zone[])[] = []) =>
  zoneHolds({ profile, zones, limits, tidies: tidies.map((cut) => ({ zones: cut })) });

describe('zoneHolds', () => {
  // Whole days below (limit - length) / rate: 15.7 / 0.35 = 44.86; 9.8 / 0.35 = 28 to the day; 8.9 / 0.3 = 29.67.
  it.each<[HoldLimit, number]>([
    [{ kind: 'grown-by', zone: 'nape', mm: 15.7 }, 44],
    [{ kind: 'longer-than', zone: 'nape', mm: 17.8 }, 28],
    [{ kind: 'weight-line', zone: 'back', dropMm: 8.9 }, 29],
    [{ kind: 'landmark', zone: 'top', landmark: 'brow', allowanceMm: 0 }, 0],
    // 8 mm left of 7: past it on the day of the cut already.
    [{ kind: 'longer-than', zone: 'nape', mm: 7 }, -1],
  ])('counts whole days at the mean rate: %j', (limit, holdDays) => {
    expect(holds([limit])).toEqual([
      {
        zone: 'zone' in limit ? limit.zone : 'top',
        holdDays,
        limit,
        growthMmPerDay: limit.kind === 'weight-line' ? expect.closeTo(0.3, 10) : expect.closeTo(0.35, 10),
      },
    ]);
  });

  it('takes of two limits of a zone the one that ends first, the earlier given of equals', () => {
    const late: HoldLimit = { kind: 'grown-by', zone: 'nape', mm: 14.1 };
    const soon: HoldLimit = { kind: 'longer-than', zone: 'nape', mm: 18.1 };
    expect(holds([late, soon])[0]).toMatchObject({ limit: soon, holdDays: 28 });
    expect(holds([soon, late])[0]).toMatchObject({ limit: soon, holdDays: 28 });
    const same: HoldLimit = { kind: 'grown-by', zone: 'nape', mm: 10.1 };
    expect(holds([same, soon])[0]?.limit).toBe(same);
  });

  it('lists zones in the order of the card', () => {
    const limits = (['nape', 'back', 'top'] as const).map(
      (zone): HoldLimit => ({ kind: 'grown-by', zone, mm: 20 }),
    );
    expect(holds(limits).map(({ zone }) => zone)).toEqual(['top', 'back', 'nape']);
  });

  describe('of a contrast', () => {
    // The back is 52 mm longer than the nape. Together they lose 0.35 - 0.3 = 0.05 mm a day, 7 mm in 140 days; with the
    // back held at its length 0.35 a day, 7 mm in 20 days.
    const contrast: HoldLimit = {
      kind: 'contrast',
      zone: 'nape',
      against: 'back',
      by: 'difference',
      value: 45,
    };

    it('lets both zones grow where none is cut alone', () => {
      expect(holds([contrast])[0]).toMatchObject({ zone: 'nape', holdDays: 140 });
      // A tidy of both, or of the shorter one or another zone, never leaves the shorter one growing against a cut one.
      expect(holds([contrast], [['nape', 'back']])[0]?.holdDays).toBe(140);
      expect(holds([contrast], [['nape'], ['top']])[0]?.holdDays).toBe(140);
    });

    it('holds the longer zone at its cut length where a tidy cuts it alone', () => {
      expect(holds([contrast], [['nape'], ['back']])[0]?.holdDays).toBe(20);
      expect(holds([contrast], [['top', 'back']])[0]?.holdDays).toBe(20);
    });

    it('looks at the growth of the longer zone, the first on the card too', () => {
      // Fringe 52 mm longer than the nape, 0.35 mm a day both: nothing is lost, while the back's 0.3 loses to it.
      const fringe = { zone: 'fringe', leftMm: 60, leftSdMm: 2 } as const;
      const against = (zone: Zone) =>
        zoneHolds({
          profile,
          zones: [...zones, fringe],
          limits: [{ kind: 'contrast', zone: 'nape', against: zone, by: 'difference', value: 45 }],
          tidies: [],
        });
      expect(against('fringe')).toEqual([]);
      expect(against('back')).toHaveLength(1);
    });

    it('takes a ratio times the rate of the shorter zone', () => {
      // 60 - 5 × 8 = 20 mm to go, 5 × 0.35 - 0.3 = 1.45 a day: 13.79 days.
      expect(
        holds([{ kind: 'contrast', zone: 'nape', against: 'back', by: 'ratio', value: 5 }])[0]?.holdDays,
      ).toBe(13);
    });

    it('is left out where it is never reached, and holds no day where it is broken at the start', () => {
      // The top grows faster than the back: their difference only widens.
      const widening = { kind: 'contrast', zone: 'back', against: 'top', by: 'difference' } as const;
      expect(holds([{ ...widening, value: 20 }])).toEqual([]);
      expect(holds([{ ...widening, value: 30 }])).toEqual([]);
      expect(holds([{ ...widening, value: 31 }])[0]).toMatchObject({ zone: 'back', holdDays: -1 });
      // The top and the nape grow alike: nothing is lost, from 82 mm down to the limit itself.
      const steady = { kind: 'contrast', zone: 'nape', against: 'top', by: 'difference' } as const;
      expect(holds([{ ...steady, value: 82 }])).toEqual([]);
    });
  });

  it('leaves a root band out, which no haircut narrows, even at a zone without a length', () => {
    expect(holds([{ kind: 'root-band', mm: 12, zone: 'crown' }])).toEqual([]);
  });

  it('asks for the length of every zone with a limit', () => {
    expect(() => holds([{ kind: 'grown-by', zone: 'crown', mm: 20 }])).toThrow(
      expect.objectContaining({ code: 'ENGINE.IMPOSSIBLE', field: 'zones' }),
    );
  });
});
