import { expect, it, jest } from '@jest/globals';
import { SYSTEM } from '../../src/identity/index.js';
import { startTestApp } from '../factories/app.js';
import { handIn, importsOf } from '../factories/exchange.js';
import { queriesOf } from '../factories/query-plans.js';

jest.setTimeout(120_000);

const SHEET = [
  'Client number,First name,Last name,Mobile,E-mail,Date of birth',
  '1,Ada,Lark,07700 900123,ada@example.org,1984-05-27',
  '2,Bo,Wren,07700 900124,bo@example.org,1990-01-02',
].join('\n');

/*
 * A new installation has no statistics, and then SQLite takes "of this salon" for the narrowest of all conditions: looking
 * for a phone it would read every client of the salon, for every batch of rows.
 */
it('looks for the clients of a batch by what the rows say of them, not through the whole salon', async () => {
  const test = await startTestApp();
  try {
    const writer = await test.units.run(async (manager) => manager.connection);
    const { id } = await handIn(test, 'clients', SHEET);
    const queries = await queriesOf([writer], () => importsOf(test).runThrough(id, 'run', SYSTEM));
    const asked = queries.filter(({ sql }) => /FROM "client"|JOIN client/.test(sql));
    const ways: string[] = [];
    for (const { sql, values } of asked) {
      const plan: { detail: string }[] = await writer.query(`EXPLAIN QUERY PLAN ${sql}`, [...values]);
      ways.push(...plan.map(({ detail }) => detail).filter((detail) => /\bclient\b/.test(detail)));
    }
    expect(ways.map((way) => /\(.*\)/.exec(way)?.[0])).toEqual([
      '(phone=?)',
      '(email=?)',
      '(salonId=? AND birthday=?)',
    ]);
  } finally {
    await test.close();
  }
});
