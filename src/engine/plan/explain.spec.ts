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
