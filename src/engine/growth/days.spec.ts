import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { Temporal } from 'temporal-polyfill';

import { addDays, daysBetween } from './index.js';

const anyDate = fc
  .record({
    year: fc.integer({ min: 1900, max: 2200 }),
    month: fc.integer({ min: 1, max: 12 }),
    day: fc.integer({ min: 1, max: 31 }),
  })
  .map((fields) => Temporal.PlainDate.from(fields));

describe('calendar days', () => {
  it('agree with the Temporal polyfill', () => {
    fc.assert(
      fc.property(anyDate, anyDate, fc.integer({ min: -5000, max: 5000 }), (from, to, days) => {
        expect(daysBetween(from.toString(), to.toString())).toBe(from.until(to, { largestUnit: 'day' }).days);
        expect(addDays(from.toString(), days)).toBe(from.add({ days }).toString());
      }),
      { numRuns: 300, seed: 3 },
    );
  });

  it.each([
    '2026-02-29',
    '2026-13-01',
    '2026-00-10',
    '2026-04-31',
    '2026-4-01',
    '0026-04-01',
    '20260401',
    'soon',
    '',
  ])('refuses %s, as the polyfill does or stricter', (text) => {
    expect(() => addDays(text, 1)).toThrow(
      expect.objectContaining({ code: 'ENGINE.OUT_OF_RANGE', field: 'on' }),
    );
  });
});
