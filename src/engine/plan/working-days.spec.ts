import { describe, expect, it } from '@jest/globals';

import { fitToWorkingDays } from './index.js';

const window = { earliestOn: '2026-03-30', dueOn: '2026-04-05', latestOn: '2026-04-12' };
const on =
  (...days: string[]) =>
  (day: string) =>
    days.includes(day);

describe('fitToWorkingDays', () => {
  it('takes the working days inside and the nearest to the due day, the earlier of two', () => {
    const works = on('2026-03-29', '2026-03-31', '2026-04-04', '2026-04-06', '2026-04-11', '2026-04-13');
    expect(fitToWorkingDays(window, works)).toEqual({
      earliestOn: '2026-03-31',
      dueOn: '2026-04-04',
      latestOn: '2026-04-11',
      workingDays: 4,
      outside: null,
    });
  });

  it('goes to the last working day before a window without any, else to the first after it', () => {
    expect(fitToWorkingDays(window, on('2026-03-20', '2026-03-27', '2026-04-13'))).toMatchObject({
      dueOn: '2026-03-27',
      workingDays: 0,
      outside: 'before',
    });
    expect(fitToWorkingDays(window, on('2026-03-27', '2026-04-13'), '2026-03-28')).toMatchObject({
      dueOn: '2026-04-13',
      outside: 'after',
    });
  });

  it('takes the first day on which one may come', () => {
    expect(fitToWorkingDays(window, on('2026-03-31', '2026-04-04'), '2026-04-04')).toMatchObject({
      earliestOn: '2026-04-04',
      workingDays: 1,
    });
  });

  it('takes the nearest working day outside, up to 60 days away', () => {
    // 29 January and 11 June 2026 are the sixtieth days before 30 March and after 12 April.
    expect(fitToWorkingDays(window, on('2026-03-01', '2026-03-28', '2026-04-13')).dueOn).toBe('2026-03-28');
    expect(fitToWorkingDays(window, on('2026-01-29')).dueOn).toBe('2026-01-29');
    expect(fitToWorkingDays(window, on('2026-04-20', '2026-04-14')).dueOn).toBe('2026-04-14');
    expect(fitToWorkingDays(window, on('2026-06-11')).dueOn).toBe('2026-06-11');
    for (const far of ['2026-01-28', '2026-06-12']) {
      expect(() => fitToWorkingDays(window, on(far))).toThrow(
        'This stylist works on no day within 60 days of the window.',
      );
    }
  });

  it('refuses a stylist who never works', () => {
    expect(() => fitToWorkingDays(window, () => false)).toThrow(
      expect.objectContaining({ code: 'ENGINE.IMPOSSIBLE', field: 'worksOn' }),
    );
  });
});
