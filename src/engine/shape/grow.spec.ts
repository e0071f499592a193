import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { ZONES } from '../zones.js';
import { evenRates, growLengths } from './grow.js';

const rate = fc.double({ min: 0, max: 2, noNaN: true });

describe('growLengths', () => {
  it('adds exactly rate × days at every root, by its zone', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.float({ min: 0, max: 600, noNaN: true }), fc.nat(ZONES.length - 1)), {
          minLength: 1,
        }),
        fc.tuple(rate, rate, rate, rate, rate, rate, rate),
        fc.double({ min: 0, max: 700, noNaN: true }),
        (roots, rates, days) => {
          const lengths = Float32Array.from(roots, ([lengthMm]) => lengthMm);
          const zone = Uint8Array.from(roots, ([, zoneOf]) => zoneOf);
          const byZone = { ...evenRates(0), ...Object.fromEntries(ZONES.map((name, i) => [name, rates[i]])) };
          const grown = growLengths(lengths, zone, byZone, days);
          roots.forEach(([lengthMm, zoneOf], i) => {
            expect(grown[i]).toBe(Math.fround(lengthMm + (rates[zoneOf] as number) * days));
          });
        },
      ),
      { numRuns: 100 },
    );
  });

  it('six weeks at 0.35 mm/day are 14.7 mm (design, reference rate)', () => {
    expect(growLengths(Float32Array.of(0), Uint8Array.of(0), evenRates(0.35), 42)[0]).toBeCloseTo(14.7, 5);
  });

  it('leaves the lengths it was given alone', () => {
    const lengths = Float32Array.of(5);
    growLengths(lengths, Uint8Array.of(0), evenRates(0.35), 42);
    expect(lengths[0]).toBe(5);
  });

  it('refuses a negative time, a rate that is no rate and an unknown zone', () => {
    const one = Float32Array.of(5);
    expect(() => growLengths(one, Uint8Array.of(0), evenRates(0.35), -1)).toThrow(
      expect.objectContaining({ code: 'ENGINE.OUT_OF_RANGE', field: 'days' }),
    );
    expect(() => growLengths(one, Uint8Array.of(0), { ...evenRates(0.35), top: Number.NaN }, 1)).toThrow(
      expect.objectContaining({ code: 'ENGINE.NOT_A_NUMBER', field: 'ratesMmPerDay.top' }),
    );
    expect(() => growLengths(one, Uint8Array.of(9), evenRates(0.35), 1)).toThrow(
      expect.objectContaining({
        code: 'ENGINE.UNKNOWN_ZONE',
        field: 'zone[0]',
        message: 'Root 0 lies in no known zone.',
      }),
    );
  });
});
