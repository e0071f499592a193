import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import type { DataSource } from 'typeorm';
import { Book, ClientLinks, Slots, WaitingList } from '../../src/book/index.js';
import { Clients } from '../../src/clients/index.js';
import { Visits } from '../../src/cuts/index.js';
import { Account, AuditTrail, SignIn, SYSTEM } from '../../src/identity/index.js';
import { DueList, ShapeWindow } from '../../src/rebooking/index.js';
import { Dispatcher, Upkeep } from '../../src/reminders/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CROP } from '../factories/cuts.js';
import { APPOINTMENTS, GROWING, plantMany } from '../factories/many.js';
import { queriesOf, scansOf } from '../factories/query-plans.js';

jest.setTimeout(60_000 + 1.2 * APPOINTMENTS);

const CLIENT = '40000000-0000-7000-8000-000000000000';

/*
 * What is asked all day long, over a book of 40,000 appointments in twenty salons with statistics gathered: enough for
 * either database to prefer an index wherever there is one, and to look through a whole table where there is none.
 */
describe('queries of every day', () => {
  let test: TestApp;
  let sources: DataSource[];
  let writer: DataSource;

  beforeAll(async () => {
    test = await startTestApp();
    const { reader, units, salon, mara, fullCut } = test;
    const made = await test.ask('owner', 'POST', '/api/v1/clients', { givenName: 'Ottoline' });
    const { id: clientId } = made.body['client'] as { id: string };
    await test.ask('owner', 'POST', '/api/v1/visits', {
      clientId,
      staffId: mara.id,
      serviceId: fullCut.id,
      formula: CROP,
    });
    const { packed } = await reader.manager.findOneByOrFail(ShapeWindow, { clientId });
    const { id: accountId } = await reader.manager.findOneByOrFail(Account, { role: 'desk' });
    writer = await units.run(async (manager) => manager.connection);
    sources = [reader.manager.connection, writer];
    await plantMany(writer, {
      salonId: salon.id,
      staffId: mara.id,
      serviceId: fullCut.id,
      accountId,
      packed,
    });
  });

  afterAll(() => test.close());

  const of = <T>(service: abstract new (...args: never[]) => T): T =>
    test.app.get(service as never, { strict: false });
  const date = '2026-06-02';

  const HOT: Readonly<Record<string, () => Promise<unknown>>> = {
    'the day of the book': () => of(Book).day(test.salon.id, date),
    'free slots': () =>
      of(Slots).find({
        salonId: test.salon.id,
        serviceId: test.fullCut.id,
        fromDate: date,
        toDate: '2026-06-30',
      }),
    'booking, overlaps looked for': () =>
      of(Book).book(
        { clientId: CLIENT, staffId: test.mara.id, serviceId: test.fullCut.id, date, time: '11:00' },
        SYSTEM,
      ),
    'client search': () => of(Clients).search(test.salon.id, 'number 1450'),
    'client search with a slip': () => of(Clients).search(test.salon.id, 'gest nuber'),
    "a client's visits": () => of(Visits).ofClient(test.reader.manager, CLIENT),
    'the due list': () => of(DueList).page(test.salon.id, { until: date, skip: 0, take: 50 }),
    'messages due': () => of(Dispatcher).deliverDue(3),
    'messages that time alone has brought about': () => of(Upkeep).run(),
    'who is signed in': () => of(SignIn).whoIs('no-such-token-at-all'),
    'the newest of the audit trail': () => of(AuditTrail).list({ limit: 100 }),
    'what the trail has on one client': () => of(AuditTrail).list({ limit: 100, subjectId: CLIENT }),
    'what the trail has on one account': () =>
      of(AuditTrail).list({ limit: 100, accountId: '00000000-0000-7000-8000-000000000000' }),
    'the waiting list': () => of(WaitingList).of(test.salon.id),
    "a client's private link": () =>
      of(ClientLinks)
        .resolve('no-such-link'.padEnd(32, 'x'))
        .catch(() => undefined),
  };

  it.each(Object.keys(HOT))('%s: no table that grows is looked through', async (name) => {
    const queries = await queriesOf(sources, HOT[name]!);
    const isAboutGrowing = ({ sql }: { sql: string }) =>
      [...GROWING].some((table) => sql.includes(`"${table}"`));
    expect(queries.filter(isAboutGrowing).length).toBeGreaterThan(0);
    const scanning: string[] = [];
    for (const query of queries) {
      const scans = await scansOf(writer, query, GROWING);
      if (scans.length > 0) scanning.push(`${scans.join()}: ${query.sql}`);
    }
    expect(scanning).toEqual([]);
  });

  it('would notice', async () => {
    const query = { sql: 'SELECT * FROM "appointment" "a" WHERE "a"."notes" = \'x\'', values: [] };
    expect(await scansOf(writer, query, GROWING)).toEqual(['appointment']);
  });
});
