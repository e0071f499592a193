import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { backupStem, expired, keptFrom, lastDueAt } from './kept-backups.js';

const DAY_MS = 86_400_000;
const instant = fc.integer({ min: Date.UTC(2000, 0, 1), max: Date.UTC(2099, 11, 31) });

describe('names of backups', () => {
  it('keep the second they were made in, and nothing else is taken for a backup', () => {
    fc.assert(
      fc.property(instant, fc.constantFrom('.tar.gz', '.tar.gz.age'), (now, end) => {
        const name = `${backupStem(now)}${end}`;
        expect(keptFrom(name)).toEqual({ name, madeAt: Math.floor(now / 1000) * 1000 });
      }),
    );
    for (const name of [
      'halfinch-20261125T031500Z.tar.gz.part',
      'halfinch-20261325T031500Z.tar.gz',
      'notes.tar.gz',
      'my-halfinch-20261125T031500Z.tar.gz',
    ]) {
      expect(keptFrom(name)).toBeUndefined();
    }
  });
});

describe('retention of backups', () => {
  const kept = fc.array(
    instant.map((madeAt) => ({ name: backupStem(madeAt), madeAt })),
    { maxLength: 40 },
  );

  it('takes what is older than so many days, and never the newest', () => {
    fc.assert(
      fc.property(kept, instant, fc.integer({ min: 1, max: 400 }), (backups, now, days) => {
        const gone = expired(backups, now, days);
        const left = backups.filter((one) => !gone.includes(one));
        expect(left.length > 0).toBe(backups.length > 0);
        for (const { madeAt } of gone) {
          expect(now - madeAt).toBeGreaterThan(days * DAY_MS);
          expect(left.some((one) => one.madeAt > madeAt)).toBe(true);
        }
        const old = left.filter(({ madeAt }) => now - madeAt > days * DAY_MS);
        const newest = Math.max(...backups.map(({ madeAt }) => madeAt));
        expect(old.every(({ madeAt }) => madeAt === newest)).toBe(true);
      }),
    );
  });
});

describe('when a backup was last due', () => {
  it('is at its time of day within the last 24 hours', () => {
    fc.assert(
      fc.property(instant, fc.integer({ min: 0, max: 1439 }), (now, minute) => {
        const at = new Date(minute * 60_000).toISOString().slice(11, 16);
        const due = lastDueAt(now, at);
        expect(new Date(due).toISOString().slice(11)).toBe(`${at}:00.000Z`);
        expect(now - due).toBeGreaterThanOrEqual(0);
        expect(now - due).toBeLessThan(DAY_MS);
      }),
    );
  });
});
