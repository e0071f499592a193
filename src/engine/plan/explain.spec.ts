import { describe, expect, it } from '@jest/globals';

import {
  explainLength,
  growthPrior,
  initialProfile,
  observeGrowth,
  projectLength,
  type Why,
} from '../growth/index.js';
import {
  explainReshape,
  explainTakeOff,
  explainTidies,
  explainWindow,
  planTidies,
  rebookingWindow,
  reshapePath,
  type TidiesInput,
  takeOff,
} from './index.js';

const profile = initialProfile(growthPrior());
const measured = observeGrowth(profile, {
  zone: 'top',
  leftMm: 60,
  leftSdMm: 1,
  days: 40,
  measuredMm: 75,
  measuredSdMm: 5,
  on: '2026-03-02',
}).profile;

/** Every part is there, and no figure of it is broken. */
function expectWhole(why: Why): void {
  for (const part of [
    why.figure,
    why.value,
    why.formula,
    ...why.rates,
    ...why.sources,
    ...why.knowledgeEnds,
  ]) {
    expect(part.length).toBeGreaterThan(3);
  }
  expect(why.inputs.length).toBeGreaterThan(0);
  expect(why.sources.join()).toContain('Loussouarn');
  expect(why.knowledgeEnds.at(-1)).toContain('month to month');
  expect(JSON.stringify(why)).not.toMatch(/NaN|undefined|Infinity/);
}

describe('why', () => {
  it('explains a length', () => {
    const input = { zone: 'nape', leftMm: 6, leftSdMm: 0.5, days: 42, terminalMm: 380 } as const;
    const why = explainLength(profile, input, projectLength(profile, input));
    expectWhole(why);
    expect(why.value).toBe('21 mm, 9 times in 10 between 16 mm and 25 mm');
    expect(why.knowledgeEnds).toContain('Never measured on this client: nape.');
    expect(why.knowledgeEnds).toContain(
      'No published rate was found for the nape: the rate of the scalp is used.',
    );
    const long = { zone: 'top', leftMm: 400, leftSdMm: 5, days: 42 } as const;
    const other = explainLength(measured, long, projectLength(measured, long)).knowledgeEnds;
    expect(other[0]).toBe('Measured once or twice only: top.');
    expect(other[1]).toContain('38 cm');
  });

  it('explains a take-off', () => {
    const input = { zone: 'top', leftMm: 60, leftSdMm: 2, days: 42 } as const;
    const projected = projectLength(measured, input);
    const why = explainTakeOff(
      measured,
      input,
      projected,
      60,
      takeOff({ projectedMm: projected, wantedMm: 60 }),
    );
    expectWhole(why);
    expect(why.value).toMatch(/^take off 1\d mm; 9 times in 10 between/);
    expect(why.inputs.at(-1)).toEqual({ name: 'wanted', value: '60 mm' });
  });

  it('explains a window', () => {
    const input = {
      profile,
      cutOn: '2026-03-02',
      zones: [
        { zone: 'back', leftMm: 60, leftSdMm: 3, leftOn: '2026-02-20' },
        { zone: 'nape', leftMm: 6, leftSdMm: 0 },
      ],
      limits: [
        { kind: 'contrast', zone: 'nape', against: 'back', by: 'ratio', value: 3.5 },
        { kind: 'longer-than', zone: 'nape', mm: 16 },
      ],
    } as const;
    const why = explainWindow(input, rebookingWindow(input));
    expectWhole(why);
    expect(why.rates).toHaveLength(2);
    expect(why.inputs[1]).toEqual({ name: 'back', value: 'left at 60 mm ± 3 mm on 2026-02-20' });
    expect(why.limit).toMatch(/first to go \d+ times in 10, by itself about 2026-/);
  });

  it('lists when the cut was, what the zones of the limits were left at, and each limit', () => {
    const input = {
      profile,
      cutOn: '2026-03-02',
      zones: [
        { zone: 'top', leftMm: 90, leftSdMm: 1 },
        { zone: 'nape', leftMm: 6, leftSdMm: 0.5 },
        { zone: 'back', leftMm: 60, leftSdMm: 3 },
      ],
      limits: [
        { kind: 'longer-than', zone: 'nape', mm: 16 },
        { kind: 'grown-by', zone: 'back', mm: 25 },
      ],
    } as const;
    const window = rebookingWindow(input);
    const why = explainWindow(input, window);
    // The top has no limit: what it was left at decides nothing.
    expect(why.inputs).toEqual([
      { name: 'cut on', value: '2026-03-02' },
      { name: 'nape', value: 'left at 6 mm ± 0.5 mm' },
      { name: 'back', value: 'left at 60 mm ± 3 mm' },
      { name: 'ends when', value: 'the nape is longer than 16 mm' },
      { name: 'ends when', value: 'the back has grown by 25 mm' },
    ]);
    // A nape with 10 mm to go against a back with 25, both at 0.35 mm a day, goes first in all but freak cases.
    expect(why.limit).toMatch(
      /^the nape is longer than 16 mm: first to go 10 times in 10, by itself about 2026-03-/,
    );
    expect(why.knowledgeEnds).toEqual([
      'Hold limits are the salon’s own (common practice, no source) until a stylist’s marks have moved them.',
      // In the order in which a card lists the zones.
      'Never measured on this client: back, nape.',
      'No published rate was found for the nape: the rate of the scalp is used.',
      'How much one person’s growth differs from month to month is not published; it is taken as steady.',
    ]);
  });

  it('says how often the first to go is it', () => {
    const input = {
      profile,
      cutOn: '2026-03-02',
      zones: [],
      limits: [
        { kind: 'grown-by', zone: 'left-side', mm: 14 },
        { kind: 'grown-by', zone: 'right-side', mm: 14 },
      ],
    } as const;
    // Two that are alike: either goes first one time in two. Alone each is due after 14 / 0.35 = 40 days.
    expect(explainWindow(input, rebookingWindow(input)).limit).toBe(
      'the left side has grown by 14 mm: first to go 5 times in 10, by itself about 2026-04-11',
    );
  });

  it('says which dates are only where the sum stops', () => {
    const limits = [
      { kind: 'contrast', zone: 'nape', against: 'back', by: 'difference', value: -500 },
    ] as const;
    const input = {
      profile,
      cutOn: '2026-03-02',
      zones: [
        { zone: 'nape', leftMm: 6, leftSdMm: 0.5 },
        { zone: 'back', leftMm: 60, leftSdMm: 3 },
      ],
      limits,
    } as const;
    expect(explainWindow(input, rebookingWindow(input)).knowledgeEnds[0]).toBe(
      'Not reached within two years: earliest, due, latest; the date shown is where the sum stops.',
    );
  });

  it('says what the services cost, each limit with its growth, and what was made least', () => {
    const input: TidiesInput = {
      profile,
      from: '2026-03-03',
      zones: [
        { zone: 'back', leftMm: 60, leftSdMm: 0, cutOn: '2026-03-02' },
        { zone: 'nape', leftMm: 6, leftSdMm: 0, cutOn: '2026-03-02' },
      ],
      limits: [
        { kind: 'grown-by', zone: 'back', mm: 28 },
        { kind: 'longer-than', zone: 'nape', mm: 20 },
      ],
      full: { name: 'full cut', price: 6500, minutes: 60 },
      lastFullOn: '2026-03-02',
      fullEveryWeeks: 20,
      tidies: [{ name: 'edges', zones: ['nape', 'left-side'], price: 1500, minutes: 15 }],
      wish: 'price',
      allowed: (day) => day === '2026-04-10' || day === '2026-05-09',
      horizonDays: 70,
    };
    // By hand: the nape holds 40 days (14 / 0.35), so it is tidied on 10 April, 39 days after the cut, and then holds
    // past the end on 12 May; the back holds 80 days (28 / 0.35) and is not touched in all these 71.
    const why = explainTidies(input, planTidies(input));
    expect(why.inputs).toEqual([
      { name: 'full cut', value: 'price 6500, 60 minutes, at least every 20 weeks' },
      { name: 'edges', value: 'price 1500, 15 minutes, nape, left side' },
    ]);
    // 71 days × 0.35 = 24.85 mm for the back, 39 × 0.35 = 13.65 for the nape.
    expect(why.limit).toBe(
      'the back has grown by 28 mm (grows 25 mm at most); the nape is longer than 20 mm (grows 14 mm at most)',
    );
    expect(why.formula).toContain('with the least price, then the fewest visits');
    const hurried = explainTidies({ ...input, wish: 'minutes' }, planTidies({ ...input, wish: 'minutes' }));
    expect(hurried.formula).toContain('with the least time, then the fewest visits');
  });

  it('speaks in a reshape of the growth of zones that must grow only, and warns of great lengths', () => {
    const wish = (backMm: number) =>
      ({
        profile,
        on: '2026-03-02',
        zones: [
          { zone: 'top', presentMm: 90, presentSdMm: 2, wantedMm: 60 },
          { zone: 'back', presentMm: 370, presentSdMm: 2, wantedMm: backMm },
        ],
      }) as const;
    const why = explainReshape(wish(380), reshapePath(wish(380)));
    expect(why.rates).toHaveLength(1);
    expect(why.rates[0]).toContain('at the back');
    expect(why.knowledgeEnds).toEqual([
      'Never measured on this client: back.',
      'How much one person’s growth differs from month to month is not published; it is taken as steady.',
    ]);
    // 380 mm are often the end: 0.35 mm a day for three years.
    expect(explainReshape(wish(381), reshapePath(wish(381))).knowledgeEnds[1]).toContain('38 cm');
  });

  it('explains tidies and a reshape', () => {
    const input: TidiesInput = {
      profile,
      from: '2026-03-03',
      zones: [{ zone: 'nape', leftMm: 6, leftSdMm: 0, cutOn: '2026-03-02' }],
      limits: [{ kind: 'longer-than', zone: 'nape', mm: 16 }],
      full: { name: 'full cut', price: 6500, minutes: 60 },
      lastFullOn: '2026-03-02',
      fullEveryWeeks: 10,
      tidies: [{ name: 'nape tidy', zones: ['nape'], price: 1500, minutes: 15 }],
      wish: 'minutes',
      allowed: () => true,
    };
    const why = explainTidies(input, planTidies(input));
    expectWhole(why);
    expect(why.limit).toMatch(/^the nape is longer than 16 mm \(grows 9\.\d mm at most\)$/);
    const wish = {
      profile,
      on: '2026-03-02',
      zones: [{ zone: 'back', presentMm: 50, presentSdMm: 2, wantedMm: 200 }],
    } as const;
    const reshape = explainReshape(wish, reshapePath(wish));
    expectWhole(reshape);
    expect(reshape.inputs).toEqual([{ name: 'back', value: '50 mm ± 2 mm today, 200 mm wanted' }]);
  });
});
