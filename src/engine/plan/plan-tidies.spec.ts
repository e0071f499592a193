import { describe, expect, it } from '@jest/globals';

import { addDays, growthPrior, initialProfile } from '../growth/index.js';
import { planTidies, type TidiesInput } from './index.js';

const stacked: TidiesInput = {
  profile: initialProfile(growthPrior()),
  from: '2026-03-03',
  zones: [
    { zone: 'top', leftMm: 90, leftSdMm: 2, cutOn: '2026-03-02' },
    { zone: 'back', leftMm: 60, leftSdMm: 2, cutOn: '2026-03-02' },
    { zone: 'nape', leftMm: 6, leftSdMm: 0, cutOn: '2026-03-02' },
  ],
  limits: [
    { kind: 'grown-by', zone: 'top', mm: 25 },
    { kind: 'weight-line', zone: 'back', dropMm: 20 },
    { kind: 'longer-than', zone: 'nape', mm: 16 },
    { kind: 'root-band', mm: 2 },
  ],
  full: { name: 'full cut', price: 6500, minutes: 60 },
  lastFullOn: '2026-03-02',
  fullEveryWeeks: 10,
  tidies: [{ name: 'nape tidy', zones: ['nape'], price: 1500, minutes: 15 }],
  wish: 'price',
  // Thursdays and Saturdays.
  allowed: (day) => [4, 6].includes(new Date(`${day}T00:00:00Z`).getUTCDay()),
  habitEveryDays: 28,
};

describe('planTidies', () => {
  const plan = planTidies(stacked);

  it('keeps to the allowed days, every limit, and the longest time between full cuts', () => {
    for (const cut of plan.cuts) expect(stacked.allowed(cut.on)).toBe(true);
    for (const { zone, grownMm } of plan.reach) {
      expect(grownMm).toBeLessThanOrEqual({ top: 25, back: 20, nape: 10 }[zone as 'top' | 'back' | 'nape']);
    }
    const full = [stacked.lastFullOn, ...plan.cuts.filter(({ kind }) => kind === 'full').map(({ on }) => on)];
    for (const [i, on] of full.slice(1).entries()) expect(on <= addDays(full[i] ?? '', 70)).toBe(true);
  });

  // By hand: the nape holds 28 days (10 / 0.35), the back 57, the top 71; a Thursday-Saturday grid over 182 days needs
  // six napes, every second one inside a full cut: 3 full cuts and 3 tidies.
  it('finds three full cuts and three tidies of the nape, and says what that saves', () => {
    expect(plan.cuts.map(({ kind }) => kind)).toEqual(['tidy', 'full', 'tidy', 'full', 'tidy', 'full']);
    expect(plan.price).toBe(3 * 6500 + 3 * 1500);
    expect(plan.minutes).toBe(3 * 60 + 3 * 15);
    expect(plan.habit).toMatchObject({ visits: 6, price: 6 * 6500, pastLimit: [] });
    expect(plan.words).toMatch(/^6 visits instead of 6 in 26 weeks, the nape never past 16 mm\.$/);
  });

  it('says when the habit lets a zone pass its limit', () => {
    const { habit, words } = planTidies({ ...stacked, habitEveryDays: 42 });
    expect(habit).toMatchObject({ visits: 4, pastLimit: ['nape'] });
    expect(words).toContain('as it is now, the nape would pass the limit');
  });

  it('starts on the first allowed day with what is overdue', () => {
    const late = planTidies({ ...stacked, from: '2026-05-04' });
    expect(late.overdue).toEqual(['back', 'nape']);
    expect(late.cuts[0]).toMatchObject({ on: '2026-05-07', kind: 'full' });
  });

  it('tells what is in the way when the days are too rare', () => {
    expect(() => planTidies({ ...stacked, allowed: (day) => day.endsWith('-15') })).toThrow(
      expect.objectContaining({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'allowed',
        message: expect.stringContaining('The nape holds 28 days until the nape is longer than 16 mm'),
      }),
    );
  });

  it('refuses a plan without a bookable day, and a limit on a zone without a length', () => {
    expect(() => planTidies({ ...stacked, allowed: () => false })).toThrow(
      expect.objectContaining({ field: 'allowed' }),
    );
    expect(() => planTidies({ ...stacked, zones: [] })).toThrow(expect.objectContaining({ field: 'zones' }));
  });

  it('counts a day past the hold as past the limit', () => {
    expect(planTidies({ ...stacked, habitEveryDays: 29 }).habit?.pastLimit).toEqual(['nape']);
  });

  it('counts a contrast whole where the longer zone can be cut alone', () => {
    const contrast = {
      kind: 'contrast',
      zone: 'nape',
      against: 'back',
      by: 'difference',
      value: 47,
    } as const;
    const input = {
      ...stacked,
      limits: [contrast],
      tidies: [{ ...stacked.full, name: 'back', zones: ['back'] as const }],
    };
    // 7 mm at 0.35 mm a day: 20 days when the back stands still, never when both grow.
    expect(planTidies(input).reach[0]?.grownMm).toBeLessThanOrEqual(7);
    expect(() => planTidies({ ...input, tidies: [] })).toThrow(expect.objectContaining({ field: 'limits' }));
  });
});
