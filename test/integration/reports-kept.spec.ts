import { describe, expect, it } from '@jest/globals';
import { CutFormula, Visit } from '../../src/cuts/index.js';
import { plantHistory } from '../factories/reports.js';
import { makeSalon, openTestStore } from '../factories/salon.js';
import { keptBeside, SlowFigures } from '../factories/slow-figures.js';

const TODAY = '2026-11-12';

describe('what is kept beside a visit', () => {
  it('follows every change of days, clients and shapes', async () => {
    const store = await openTestStore(`${TODAY}T11:00:00Z`);
    try {
      const place = await makeSalon(store);
      await plantHistory(store, place, 9, {
        clients: 4,
        mostVisits: 8,
        firstDay: '2026-01-01',
        today: TODAY,
        apart: 20,
      });
      const { units } = store;
      const check = async () => {
        const slow = await SlowFigures.of(store, place, TODAY);
        const expected = slow.visits.map((visit) => [visit.id, slow.kept(visit)] as const);
        expect(await keptBeside(store)).toEqual(new Map(expected));
      };
      const visits = await store.reader.manager.find(Visit, { order: { visitOn: 'ASC', id: 'ASC' } });
      expect(visits.length).toBeGreaterThan(8);
      await check();
      const [first, second, third] = visits as [Visit, Visit, Visit];
      const last = visits.at(-1) as Visit;
      const change = async (id: string, to: Partial<Visit>) => {
        await units.run((manager) => manager.update(Visit, { id }, to));
        await check();
      };
      // Earlier than all, later than all, onto another's day, to another client, and back.
      await change(last.id, { visitOn: '2025-12-01' });
      await change(first.id, { visitOn: '2026-11-11' });
      await change(second.id, { visitOn: third.visitOn });
      await change(third.id, { clientId: last.clientId });
      await change(third.id, { clientId: third.clientId, visitOn: '2026-02-02' });
      const cut = visits.find(({ formulaId }) => formulaId !== null) as Visit;
      await units.run((manager) =>
        manager.update(CutFormula, { id: cut.formulaId as string }, { name: 'Renamed crop' }),
      );
      await check();
      await change(cut.id, { formulaId: null });
      for (const { id } of visits.slice(0, 4)) {
        await units.run((manager) => manager.delete(Visit, { id }));
        await check();
      }
    } finally {
      await store.close();
    }
  });
});
