import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { indentOf, lanesOf, meet, placeOf, type Rest } from './day-grid.js';

const MINUTE_MS = 60_000;
const scale = { from: 0, hours: 9 };
const at = (hours: number, minutes: number) => (hours * 60 + minutes) * MINUTE_MS;

describe('the grid of a day', () => {
  it('puts a block on rows of five minutes, whole ones, and never on none', () => {
    const place = (startsAt: number, endsAt: number) => placeOf({ startsAt, endsAt }, scale);
    expect(place(at(0, 17), at(1, 2))).toBe('h-0 m-15 to-h-1 to-m-5');
    expect(place(at(0, 0), at(0, 58))).toBe('h-0 m-0 to-h-1 to-m-0');
    expect(place(at(3, 2), at(3, 2))).toBe('h-3 m-0 to-h-3 to-m-5');
    expect(place(at(8, 30), at(11, 0))).toBe('h-8 m-30 to-h-9 to-m-0');
  });

  const rests = fc
    .uniqueArray(fc.tuple(fc.integer({ min: 0, max: 90 }), fc.integer({ min: 1, max: 30 })), { maxLength: 8 })
    .map((list) =>
      list.map(([start, length], i): Rest => ({ id: `${i}`, startsAt: start, endsAt: start + length })),
    );

  it('draws no two rests over each other, and no block over a rest', () => {
    fc.assert(
      fc.property(
        rests,
        fc.integer({ min: 0, max: 100 }),
        fc.integer({ min: 1, max: 30 }),
        (list, start, length) => {
          const lanes = lanesOf(list);
          expect(lanes).toHaveLength(list.length);
          for (const one of lanes) {
            for (const other of lanes) {
              if (one !== other && one.lane === other.lane) expect(meet(one.rest, other.rest)).toBe(false);
            }
          }
          const block = { startsAt: start, endsAt: start + length };
          const indent = indentOf(block, lanes);
          for (const { rest, lane } of lanes) if (meet(rest, block)) expect(lane).toBeLessThan(indent);
        },
      ),
    );
  });
});
