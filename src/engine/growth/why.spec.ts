import { describe, expect, it } from '@jest/globals';
import { ZONES } from '../zones.js';
import {
  describeProfile,
  explainLength,
  type GrowthProfile,
  growthPrior,
  initialProfile,
  knowledgeEnds,
  mm,
  observeGrowth,
  projectLength,
  zoneRate,
} from './index.js';
import { loadingsOf } from './loadings.js';

const fresh = initialProfile(growthPrior());
const measured = (count: number): GrowthProfile =>
  Array.from({ length: count }).reduce<GrowthProfile>(
    (profile) =>
      observeGrowth(profile, {
        zone: 'top',
        leftMm: 60,
        leftSdMm: 1,
        days: 30,
        measuredMm: 71,
        measuredSdMm: 1,
        on: '2026-03-02',
      }).profile,
    fresh,
  );

describe('explainLength', () => {
  it('tells everything that went into the length', () => {
    const input = { zone: 'top', leftMm: 60, leftSdMm: 1, days: 30, terminalMm: 300 } as const;
    const why = explainLength(fresh, input, projectLength(fresh, input));
    expect(why).toMatchObject({
      figure: 'Length of the top 30 days after it was cut',
      inputs: [
        { name: 'left at', value: '60 mm ± 1 mm' },
        { name: 'days since', value: '30' },
        // √(0.06² + 0.028²) = 0.0662.
        { name: 'rate', value: '0.350 ± 0.066 mm a day' },
        { name: 'grows no longer than', value: '300 mm' },
      ],
      rates: [describeProfile(fresh, 'top')],
      limit: null,
      sources: [growthPrior().source],
    });
    const { terminalMm: _, ...open } = input;
    expect(explainLength(fresh, open, projectLength(fresh, open)).inputs).toHaveLength(3);
  });
});

describe('knowledgeEnds', () => {
  const NOT_STEADY =
    'How much one person’s growth differs from month to month is not published; it is taken as steady.';

  it('names what was never measured, and what was once or twice', () => {
    expect(knowledgeEnds(fresh, ['top', 'back'], 100)).toEqual([
      'Never measured on this client: top, back.',
      NOT_STEADY,
    ]);
    expect(knowledgeEnds(measured(2), ['top'], 380)).toEqual([
      'Measured once or twice only: top.',
      NOT_STEADY,
    ]);
    const both = { ...fresh, measurements: { ...fresh.measurements, top: 1, back: 2 } };
    expect(knowledgeEnds(both, ['top', 'back'], 0)[0]).toBe('Measured once or twice only: top, back.');
    expect(knowledgeEnds(measured(3), ['top'], 100)).toEqual([NOT_STEADY]);
  });

  it('warns of the nape and of lengths that many heads never reach', () => {
    expect(knowledgeEnds(measured(3), ['top'], 381)[0]).toContain('Beyond about 38 cm');
    expect(knowledgeEnds(fresh, ['nape'], 0)).toContain(
      'No published rate was found for the nape: the rate of the scalp is used.',
    );
  });
});

describe('describeProfile', () => {
  it('counts one measurement as one, and those of other zones apart', () => {
    expect(describeProfile(measured(1), 'top')).toContain('from 1 measurement;');
    expect(describeProfile(measured(2), 'top')).toContain('from 2 measurements;');
    expect(describeProfile(measured(2), 'crown')).toContain('judged by 2 measurements of other zones');
    expect(describeProfile(fresh, 'top')).toMatch(/^not measured yet: 0\.35 mm a day assumed at the top/);
  });
});

describe('mm', () => {
  it.each([
    [0, '0 mm'],
    [4, '4 mm'],
    [4.04, '4 mm'],
    [-4.26, '-4.3 mm'],
    [9.949, '9.9 mm'],
    [9.95, '10 mm'],
    [100.4, '100 mm'],
  ])('says %d as %s', (value, words) => {
    expect(mm(value)).toBe(words);
  });
});

describe('growthPrior', () => {
  it('takes a stated ancestry as published, zones 8 % apart, and says that the age is not used', () => {
    expect(growthPrior({ ancestry: 'asian' })).toEqual({
      meanMmPerDay: 0.411,
      personSdMmPerDay: 0.053,
      zoneSdMmPerDay: 0.08 * 0.411,
      source:
        'Loussouarn, El Rawadi, Genain 2005, Int J Dermatol 44(S1):6-9, adults who gave the same ancestry as this client. Zones 8 % apart: our assumption.',
    });
    expect(growthPrior({ ancestry: 'asian', age: 'young-adult' }).source).toMatch(
      / The stated age is not used/,
    );
  });

  it('takes a stated age alone from Myers and Hamilton', () => {
    expect(growthPrior({ age: 'young-adult' })).toMatchObject({
      meanMmPerDay: 0.3,
      zoneSdMmPerDay: 0.08 * 0.3,
      source: expect.stringContaining('Myers, Hamilton 1951'),
    });
    expect(growthPrior().meanMmPerDay).toBe(0.35);
  });
});

describe('loadingsOf', () => {
  it.each([
    ['nothing measured', fresh],
    ['one zone measured', measured(1)],
  ])('says of every zone the same as its rate, %s', (_name, profile) => {
    const packed = loadingsOf(profile);
    for (const [z, zone] of ZONES.entries()) {
      const { meanMmPerDay, sdMmPerDay } = zoneRate(profile, zone);
      expect(packed[z]).toBeCloseTo(meanMmPerDay, 12);
      // Shared and own part together are the whole variance.
      expect(Math.hypot(packed[7 + z] ?? 0, packed[14 + z] ?? 0)).toBeCloseTo(sdMmPerDay, 12);
    }
  });

  it('shares exactly what is covariant with the person', () => {
    const profile = measured(1);
    const personSd = Math.sqrt(profile.covariance[0]?.[0] ?? Number.NaN);
    for (const z of ZONES.keys()) {
      // Covariance of the zone's rate with the person's, divided by the person's spread.
      const covariance = (profile.covariance[0]?.[0] ?? 0) + (profile.covariance[0]?.[z + 1] ?? 0);
      expect(loadingsOf(profile)[7 + z]).toBeCloseTo(covariance / personSd, 12);
    }
    expect(
      [...loadingsOf(fresh).slice(7, 8), ...loadingsOf(fresh).slice(14, 15)].map((x) => x.toFixed(4)),
    ).toEqual(['0.0600', '0.0280']);
  });

  it('stays finite where nobody differs from anybody', () => {
    const same = initialProfile({
      meanMmPerDay: 0.35,
      personSdMmPerDay: 0,
      zoneSdMmPerDay: 0.02,
      source: 'example',
    });
    expect([...loadingsOf(same)].every(Number.isFinite)).toBe(true);
    expect(loadingsOf(same)[14]).toBeCloseTo(0.02, 12);
  });
});
