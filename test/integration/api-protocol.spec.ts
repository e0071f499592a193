import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { Client } from '../../src/clients/index.js';
import { namesTag } from '../../src/http/versions.js';
import { type Key, keysetPage, Turn } from '../../src/store/index.js';
import { type Answer, startTestApp, type TestApp } from '../factories/app.js';
import { openTestStore } from '../factories/salon.js';

/** What API v1 promises about HTTP itself: versions (RFC 9110, 13.1) and pages (RFC 8288). */
describe('the protocol of API v1', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
  });
  afterAll(() => test.close());

  const addClient = async (givenName: string) => {
    const answer = await test.ask('desk', 'POST', '/api/v1/clients', { givenName });
    const { id } = answer.body['client'] as { id: string };
    return { id, path: `/api/v1/clients/${id}`, etag: String(answer.headers['etag']) };
  };
  const book = async (clientId: string, time: string) => {
    const answer = await test.ask('desk', 'POST', '/api/v1/appointments', {
      clientId,
      staffId: test.mara.id,
      serviceId: test.fullCut.id,
      date: '2026-06-02',
      time,
    });
    expect(answer.status).toBe(201);
    const { id } = answer.body['appointment'] as { id: string };
    return { path: `/api/v1/appointments/${id}`, etag: String(answer.headers['etag']) };
  };

  describe('versions', () => {
    it('says 304 to whoever has the newest, and sends what changed', async () => {
      const { path } = await addClient('Tagged');
      const first = await test.ask('desk', 'GET', path);
      const etag = String(first.headers['etag']);
      expect(etag).toBe('"1"');
      for (const known of [etag, `"x", ${etag}`, `W/${etag}`, '*']) {
        const again = await test.ask('desk', 'GET', path, undefined, { 'if-none-match': known });
        expect([known, again.status, again.body['text'], again.headers['etag']]).toEqual([
          known,
          304,
          '',
          etag,
        ]);
      }
      await test.ask('desk', 'PUT', path, { notes: 'Tea', expectedVersion: 1 });
      const changed = await test.ask('desk', 'GET', path, undefined, { 'if-none-match': etag });
      expect(changed).toMatchObject({
        status: 200,
        headers: { etag: '"2"' },
        body: { client: { notes: 'Tea' } },
      });
    });

    it('changes nothing where If-Match names another version, and needs none in the body', async () => {
      const { path, etag } = await addClient('Matched');
      const put = (ifMatch: string, notes: string) =>
        test.ask('desk', 'PUT', path, { notes }, { 'if-match': ifMatch });
      const changed = await put(etag, 'one');
      expect(changed).toMatchObject({ status: 200, headers: { etag: '"2"' } });
      const late = await put(etag, 'two');
      expect(late).toMatchObject({
        status: 412,
        body: { code: 'PRECONDITION.FAILED', etag: '"2"', fields: [{ field: 'If-Match' }] },
      });
      // Only strong tags compare equal in If-Match.
      expect((await put('W/"2"', 'two')).status).toBe(412);
      expect((await test.ask('desk', 'GET', path)).body).toMatchObject({ client: { notes: 'one' } });
      expect((await put('"1", "2"', 'two')).status).toBe(422);
      expect((await put('"2"', 'two')).status).toBe(200);
    });

    it('lets one of two who change the same version at once through', async () => {
      const { path, etag } = await addClient('Rivals');
      const answers = await Promise.all(
        ['a', 'b', 'c', 'd'].map((notes) => test.ask('desk', 'PUT', path, { notes }, { 'if-match': etag })),
      );
      const outcomes = answers.map(({ status }) => status).sort();
      expect(outcomes[0]).toBe(200);
      // Who passed the first look and came second meets the version in the unit of work.
      expect(outcomes.slice(1)).toEqual([412, 412, 412]);
    });

    it('holds steps of an appointment, settings and series to the version that was read', async () => {
      const { id } = await addClient('Steps');
      const { path, etag } = await book(id, '10:00');
      const moved = await test.ask('desk', 'POST', `${path}/move`, { date: '2026-06-02', time: '11:00' });
      expect(moved.status).toBe(200);
      const late = await test.ask('desk', 'POST', `${path}/cancellation`, undefined, { 'if-match': etag });
      expect(late.status).toBe(412);
      const known = String(moved.headers['etag']);
      const right = await test.ask('desk', 'POST', `${path}/cancellation`, undefined, { 'if-match': known });
      expect(right.status).toBe(200);

      const service = `/api/v1/services/${test.fullCut.id}`;
      const read = await test.ask('owner', 'GET', service);
      const change = (ifMatch: string) =>
        test.ask('owner', 'POST', `${service}/change`, { priceMinor: 6100 }, { 'if-match': ifMatch });
      expect((await change(String(read.headers['etag']))).status).toBe(200);
      expect((await change(String(read.headers['etag']))).status).toBe(412);
      for (const path of [`/api/v1/staff/${test.mara.id}`]) {
        expect((await test.ask('desk', 'GET', path)).headers['etag']).toMatch(/^"\d+"$/);
      }
    });

    it('does not take If-Match for heard where nothing has a version', async () => {
      const before = await test.reader.manager.count(Client);
      const answer = await test.ask('desk', 'POST', '/api/v1/waiting/matches', {}, { 'if-match': '"1"' });
      expect(answer).toMatchObject({ status: 412, body: { etag: null } });
      expect(await test.reader.manager.count(Client)).toBe(before);
      const gone = '/api/v1/clients/01890000-0000-7000-8000-000000000000';
      expect((await test.ask('desk', 'PUT', gone, {}, { 'if-match': '"1"' })).status).toBe(404);
    });

    it.each([
      // RFC 9110, 8.8.3.2: the table of examples of both comparisons.
      ['W/"1"', '1', { weak: true, strong: false }],
      ['W/"2"', '1', { weak: false, strong: false }],
      ['"1"', '1', { weak: true, strong: true }],
    ])('compares %s with the version %s as RFC 9110 does', (list, tag, { weak, strong }) => {
      expect(namesTag(list, tag, true)).toBe(weak);
      expect(namesTag(list, tag, false)).toBe(strong);
    });
  });

  describe('pages', () => {
    /** All of a list by following the Link header, as a client would that knows RFC 8288 and nothing else. */
    const walk = async (
      path: string,
      member: string,
      between: () => Promise<unknown> = async () => undefined,
    ) => {
      const rows: { id: string }[] = [];
      let pages = 0;
      for (let next: string | undefined = path; next !== undefined; pages += 1) {
        const answer: Answer = await test.ask('owner', 'GET', next);
        expect(answer.status).toBe(200);
        rows.push(...(answer.body[member] as { id: string }[]));
        const link = answer.headers['link'] as string | undefined;
        expect(answer.body['next'] === null).toBe(link === undefined);
        next = link === undefined ? undefined : /^<(\/api\/v1\/[^>]*)>; rel="next"$/.exec(link)?.[1];
        if (next) await between();
      }
      return { rows, pages };
    };

    it('gives every row once, whatever is added between the pages', async () => {
      const store = await openTestStore();
      const name = fc.stringMatching(/^[a-f]{1,6}$/);
      const row = fc.record({ name, takenAt: fc.integer({ min: 0, max: 5 }) });
      const rowsOf = (length: number) =>
        fc.uniqueArray(row, { maxLength: length, selector: ({ name: one }) => one });
      try {
        await fc.assert(
          fc.asyncProperty(
            rowsOf(30),
            fc.array(rowsOf(4), { maxLength: 8 }),
            fc.integer({ min: 1, max: 7 }),
            fc.constantFrom('ASC' as const, 'DESC' as const),
            async (first, later, limit, direction) => {
              await store.units.run((manager) => manager.clear(Turn));
              await store.units.run((manager) => manager.save(Turn, first));
              const seen: Turn[] = [];
              let after: Key | undefined;
              // Saved anew under its name a row would move.
              const known = new Set(first.map(({ name: one }) => one));
              for (let page = 0; ; page += 1) {
                const query = store.reader.manager.createQueryBuilder(Turn, 't');
                const { rows, next } = await keysetPage(query, ['takenAt', 'name'], direction, {
                  after,
                  limit,
                });
                expect(rows.length).toBeLessThanOrEqual(limit);
                seen.push(...rows);
                if (!next) break;
                after = next;
                const added = (later[page] ?? []).filter(({ name: one }) => !known.has(one));
                for (const { name: one } of added) known.add(one);
                await store.units.run((manager) => manager.save(Turn, added));
              }
              const names = seen.map(({ name: one }) => one);
              expect(new Set(names).size).toBe(names.length);
              expect(names).toEqual(expect.arrayContaining(first.map(({ name: one }) => one)));
              const sign = direction === 'ASC' ? 1 : -1;
              const sorted = seen.toSorted(
                (a, b) => sign * (a.takenAt - b.takenAt || (a.name < b.name ? -1 : a.name > b.name ? 1 : 0)),
              );
              expect(seen).toEqual(sorted);
            },
          ),
          { numRuns: 40 },
        );
      } finally {
        await store.close();
      }
    });

    it('walks every list by its Link header', async () => {
      const ids: string[] = [];
      for (let i = 0; i < 7; i += 1) {
        const { id } = await addClient(`Page ${i}`);
        ids.push(id);
        await book(id, `${13 + Math.floor(i / 2)}:${i % 2 === 0 ? '00' : '45'}`).catch(() => undefined);
        await test.ask('desk', 'POST', '/api/v1/waiting', {
          clientId: id,
          serviceId: test.fullCut.id,
          fromDate: '2026-06-02',
          toDate: '2026-06-20',
        });
      }
      const clients = await walk('/api/v1/clients?limit=3', 'clients', () => addClient('In between'));
      expect(clients.pages).toBeGreaterThan(2);
      expect(clients.rows.map(({ id }) => id)).toEqual(expect.arrayContaining(ids));
      expect(new Set(clients.rows.map(({ id }) => id)).size).toBe(clients.rows.length);
      for (const [path, member] of [
        ['appointments/all?limit=2', 'appointments'],
        ['messages?limit=2', 'messages'],
        ['waiting?limit=2', 'waiting'],
        ['audit?limit=20', 'entries'],
      ] as const) {
        const whole = await walk(`/api/v1/${path.replace(/limit=\d+/, 'limit=199')}`, member);
        const { rows, pages } = await walk(`/api/v1/${path}`, member);
        expect([path, pages > 1]).toEqual([path, true]);
        expect(rows).toEqual(whole.rows);
      }
      for (const [path, member] of [
        ['imports', 'imports'],
        ['message-runs', 'runs'],
        ['due', 'due'],
        [`clients/${ids[0]}/visits`, 'visits'],
      ] as const) {
        expect((await walk(`/api/v1/${path}?limit=1`, member)).pages).toBeGreaterThan(0);
      }
    });

    it('lists appointments by days, stylist, client and state, messages by kind, clients by when they changed', async () => {
      const { id, path } = await addClient('Filtered');
      const appointment = await book(id, '17:00');
      const all = async (query: string) =>
        (await walk(`/api/v1/appointments/all?${query}`, 'appointments')).rows as unknown as Record<
          string,
          unknown
        >[];
      expect(await all(`clientId=${id}`)).toHaveLength(1);
      expect(await all(`clientId=${id}&from=2026-06-03`)).toEqual([]);
      expect(await all(`clientId=${id}&from=2026-06-02&to=2026-06-02`)).toHaveLength(1);
      expect(await all(`clientId=${id}&staffId=${test.fullCut.id}`)).toEqual([]);
      await test.ask('desk', 'POST', `${appointment.path}/cancellation`);
      expect(await all(`clientId=${id}&state=booked`)).toEqual([]);
      expect(await all(`clientId=${id}&state=cancelled`)).toHaveLength(1);

      const told = async (kind: string) =>
        (await walk(`/api/v1/messages?kind=${kind}&clientId=${id}&limit=1`, 'messages')).rows;
      expect(await told('appointment-cancellation')).toHaveLength(1);
      expect(await told('no-show')).toEqual([]);

      test.clock.at += 60_000;
      const since = test.clock.at;
      const changed = async () =>
        (await walk(`/api/v1/clients?changedSince=${since}`, 'clients')).rows.map((row) => row.id);
      expect(await changed()).toEqual([]);
      await test.ask('desk', 'PUT', path, { notes: 'Milk', expectedVersion: 1 });
      await test.ask('stylist', 'GET', `${path}/health-notes`);
      const fresh = await addClient('Fresh');
      expect(await changed()).toEqual([id, fresh.id]);
    });

    it.each([
      ['clients?cursor=nonsense', 'cursor'],
      ['clients?cursor=a%20b', 'cursor'],
      // The right list, the wrong kinds; and a cursor of another list.
      [`clients?cursor=${Buffer.from('["clients",1]').toString('base64url')}`, 'cursor'],
      [`messages?cursor=${Buffer.from('["clients","x"]').toString('base64url')}`, 'cursor'],
      [`audit?cursor=${Buffer.from('["audit",1.5]').toString('base64url')}`, 'cursor'],
      ['clients?search=a&cursor=x', 'cursor'],
      ['clients?changedSince=yesterday', 'changedSince'],
      ['clients?limit=101', 'limit'],
      ['appointments/all?state=lost', 'state'],
      ['appointments/all?from=2026-02-30', 'from'],
      ['messages?kind=letter', 'kind'],
      ['due?staffId=7', 'staffId'],
    ])('refuses %s and names the field', async (path, field) => {
      const answer = await test.ask('owner', 'GET', `/api/v1/${path}`);
      expect(answer).toMatchObject({ status: 422, body: { fields: [{ field }] } });
    });
  });

  describe('problems', () => {
    it('have a type that says what the code means, and are all described', async () => {
      const refused = await test.ask('desk', 'GET', '/api/v1/clients/42');
      const type = new URL(String(refused.body['type']));
      // RFC 9457, 3.1.1: dereferencing the type gives documentation for people.
      const explained = await test.app.inject({ method: 'GET', url: type.pathname });
      expect(explained.statusCode).toBe(200);
      expect(explained.json()).toMatchObject({
        code: 'INPUT.INVALID',
        meaning: expect.stringContaining('fields'),
      });
      const all = (await test.app.inject({ method: 'GET', url: '/api/problems' })).json().problems as {
        code: string;
      }[];
      const document = (await test.app.inject({ method: 'GET', url: '/api/docs-json' })).json();
      expect(document.components.schemas.Problem.properties.code.enum).toEqual(all.map(({ code }) => code));
      expect((await test.app.inject({ method: 'GET', url: '/api/problems/NONE.SUCH' })).statusCode).toBe(404);
    });
  });
});
