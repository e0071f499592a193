import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { IsNull } from 'typeorm';
import { Appointment } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { keyOf } from '../../src/http/idempotency.js';
import { Privacy } from '../../src/privacy/index.js';
import { RequestKey, RequestKeys } from '../../src/store/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';

type Json = Record<string, unknown>;
const DAY_MS = 86_400_000;

/** Held against draft-ietf-httpapi-idempotency-key-header-07, sections 2.1 to 2.7. */
describe('Idempotency-Key', () => {
  let test: TestApp;
  let keys: RequestKeys;
  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
    keys = test.app.get(RequestKeys, { strict: false });
  });
  afterAll(() => test.close());

  const send = (key: string, path: string, body?: Json, method = 'POST', role: 'desk' | 'owner' = 'desk') =>
    test.ask(role, method, path, body, { 'idempotency-key': key });
  const addClient = async (givenName: string): Promise<string> => {
    const answer = await test.ask('desk', 'POST', '/api/v1/clients', { givenName });
    return (answer.body as { client: { id: string } }).client.id;
  };
  const booking = (clientId: string, time: string, date = '2026-06-02') => ({
    clientId,
    staffId: test.mara.id,
    serviceId: test.fullCut.id,
    date,
    time,
  });
  const booked = (clientId: string) => test.reader.manager.countBy(Appointment, { clientId });
  const named = (givenName: string) => test.reader.manager.countBy(Client, { givenName });

  it('books once for twenty who send the same at once, and gives all of them the same in the end', async () => {
    const clientId = await addClient('Twenty');
    const key = randomUUID();
    const ask = () => send(key, '/api/v1/appointments', booking(clientId, '10:00'));
    const answers = await Promise.all(Array.from({ length: 20 }, ask));
    expect(await booked(clientId)).toBe(1);
    const first = answers.filter(
      ({ status, headers }) => status === 201 && headers['idempotency-replayed'] === undefined,
    );
    expect(first).toHaveLength(1);
    for (const { status, headers, body } of answers) {
      if (status === 201) expect(body).toEqual(first[0]?.body);
      else
        expect([status, body['code'], headers['retry-after']]).toEqual([409, 'IDEMPOTENCY.IN_PROGRESS', '1']);
    }
    const again = await ask();
    expect(again).toMatchObject({ status: 201, headers: { 'idempotency-replayed': 'true' } });
    expect(again.body).toEqual(first[0]?.body);
    expect(again.type).toBe(first[0]?.type);
    const told = await test.ask(
      'desk',
      'GET',
      `/api/v1/messages?clientId=${clientId}&kind=appointment-confirmation`,
    );
    expect(told.body['messages']).toHaveLength(1);
  });

  it('refuses a key with another body, path or salon, and takes the same key of somebody else', async () => {
    const key = randomUUID();
    expect((await send(key, '/api/v1/clients', { givenName: 'First' })).status).toBe(201);
    const other = await send(key, '/api/v1/clients', { givenName: 'Second' });
    expect(other).toMatchObject({
      status: 422,
      body: { code: 'IDEMPOTENCY.KEY_REUSED', fields: [{ field: 'Idempotency-Key' }] },
    });
    expect((await send(key, '/api/v1/waiting', { givenName: 'First' })).status).toBe(422);
    expect(await named('Second')).toBe(0);
    expect((await send(key, '/api/v1/clients', { givenName: 'First' }, 'POST', 'owner')).status).toBe(201);
    expect(await named('First')).toBe(2);
  });

  it('repeats a refusal, a change and a removal too', async () => {
    const clientId = await addClient('Refused');
    const key = randomUUID();
    const taken = await send(key, '/api/v1/appointments', booking(clientId, '10:15'));
    expect(taken).toMatchObject({ status: 409, body: { code: 'BOOK.TAKEN' } });
    const again = await send(key, '/api/v1/appointments', booking(clientId, '10:15'));
    expect(again.body).toEqual(taken.body);
    expect(again.type).toContain('application/problem+json');

    const change = () =>
      send('"change \\"1\\""', `/api/v1/clients/${clientId}`, { notes: 'Tea', expectedVersion: 1 }, 'PUT');
    expect((await change()).status).toBe(200);
    // Without the key this version would be stale by now.
    expect(await change()).toMatchObject({ status: 200, headers: { 'idempotency-replayed': 'true' } });

    const wait = await test.ask('desk', 'POST', '/api/v1/waiting', {
      clientId,
      serviceId: test.fullCut.id,
      fromDate: '2026-06-02',
      toDate: '2026-06-20',
    });
    expect(wait.status).toBe(201);
    const remove = () =>
      send('drop', `/api/v1/waiting/${(wait.body['entry'] as { id: string }).id}`, undefined, 'DELETE');
    expect((await remove()).status).toBe(204);
    expect(await remove()).toMatchObject({ status: 204, headers: { 'idempotency-replayed': 'true' } });
  });

  it('may be tried again after what was nobody’s verdict: not signed in, not allowed, unreadable', async () => {
    const before = await test.reader.manager.count(RequestKey);
    const key = randomUUID();
    const refused = await test.ask('desk', 'POST', '/api/v1/services', {}, { 'idempotency-key': key });
    expect(refused.status).toBe(403);
    expect(await test.reader.manager.count(RequestKey)).toBe(before);
    const asNobody = await test.ask('nobody', 'POST', '/api/v1/clients', {}, { 'idempotency-key': key });
    expect(asNobody.status).toBe(401);
    expect((await send(key, '/api/v1/clients', { givenName: 'After all' })).status).toBe(201);
  });

  it('does nothing twice when whoever carried it out died before its answer was kept', async () => {
    const clientId = await addClient('Lost');
    const key = randomUUID();
    const ask = () => send(key, '/api/v1/appointments', booking(clientId, '12:00'));
    const keep = jest.spyOn(keys, 'keep').mockRejectedValueOnce(new Error('the process dies here'));
    expect((await ask()).status).toBe(201);
    keep.mockRestore();
    // As long as the dead one might be at work.
    expect(await ask()).toMatchObject({ status: 409, body: { code: 'IDEMPOTENCY.IN_PROGRESS' } });
    test.clock.at += 61_000;
    const lost = await ask();
    expect(lost).toMatchObject({ status: 409, body: { code: 'IDEMPOTENCY.ANSWER_LOST' } });
    expect(await booked(clientId)).toBe(1);
    // It says what was changed, so that the program can look.
    const { id } = await test.reader.manager.findOneByOrFail(Appointment, { clientId });
    expect(lost.body['changed']).toContainEqual({ kind: 'appointment', id });
  });

  it('carries out what died before it had changed anything, and lets the dead commit no more', async () => {
    const key = randomUUID();
    const asker = 'somebody';
    const dead = await keys.claim(asker, key, 'the same');
    if (!('mark' in dead)) throw new Error('A fresh key has no answer.');
    await expect(keys.claim(asker, key, 'the same')).rejects.toMatchObject({
      code: 'IDEMPOTENCY.IN_PROGRESS',
    });
    test.clock.at += 61_000;
    const second = await keys.claim(asker, key, 'the same');
    expect('mark' in second).toBe(true);
    const late = test.units.guarded({ last: (manager) => dead.mark(manager, []) }, () =>
      test.units.run((manager) => manager.update(Client, { erasedAt: IsNull() }, { notes: 'too late' })),
    );
    await expect(late).rejects.toMatchObject({ code: 'IDEMPOTENCY.TAKEN_OVER' });
    expect(await test.reader.manager.countBy(Client, { notes: 'too late' })).toBe(0);
  });

  it('keeps answers sealed, forgets them with a client that is erased, and all after a day', async () => {
    const key = randomUUID();
    const add = () => send(key, '/api/v1/clients', { givenName: 'Zephyrine' });
    const { body } = await add();
    const stored: { answer: string | null }[] = await test.reader.manager.query(
      'SELECT answer FROM request_key',
    );
    expect(stored.some(({ answer }) => answer?.startsWith('sealed:1:'))).toBe(true);
    expect(JSON.stringify(stored)).not.toContain('Zephyrine');
    const { id } = (body as unknown as { client: { id: string } }).client;
    const owner = { accountId: null, role: 'owner' } as const;
    await test.app.get(Privacy, { strict: false }).erase(id, owner);
    expect(await add()).toMatchObject({ status: 409, body: { code: 'IDEMPOTENCY.ANSWER_LOST' } });
    test.clock.at += DAY_MS + 1;
    expect(await keys.forget()).toBeGreaterThan(0);
    expect(await test.reader.manager.count(RequestKey)).toBe(0);
    expect((await add()).status).toBe(201);
  });

  it('is refused where the answer is a secret or the body no JSON, and nothing is kept of it', async () => {
    const before = await test.reader.manager.count(RequestKey);
    for (const path of ['/api/v1/sessions', '/api/v1/tokens', `/api/v1/staff/${test.mara.id}/calendar`]) {
      const answer = await send('secret', path, {}, 'POST', 'owner');
      expect(answer).toMatchObject({ status: 422, body: { code: 'IDEMPOTENCY.NOT_HERE' } });
    }
    const form = await test.ask('owner', 'POST', '/api/v1/imports', '--x--', {
      'idempotency-key': 'form',
      'content-type': 'multipart/form-data; boundary=x',
    });
    expect(form).toMatchObject({ status: 422, body: { code: 'IDEMPOTENCY.NOT_HERE' } });
    expect(await test.reader.manager.count(RequestKey)).toBe(before);
  });

  it('is taken by no route whose answer has a secret in it', async () => {
    const document = (await test.app.inject('/api/docs-json')).json() as {
      paths: Record<string, Record<string, { parameters?: { name: string }[]; responses: object }>>;
      components: { schemas: Record<string, object> };
    };
    const secrets = /"(token|secret|link|password|codes?)":\{"type":"string"/;
    const withSecrets = (schema: object, seen = new Set<string>()): boolean => {
      const text = JSON.stringify(schema);
      const refs = [...text.matchAll(/#\/components\/schemas\/(\w+)/g)].map(([, name]) => `${name}`);
      const fresh = refs.filter((name) => name !== 'Problem' && !seen.has(name));
      for (const name of fresh) seen.add(name);
      return (
        secrets.test(text) || fresh.some((name) => withSecrets(document.components.schemas[name] ?? {}, seen))
      );
    };
    const routes = Object.entries(document.paths).flatMap(([path, methods]) =>
      Object.entries(methods).map(([method, operation]) => ({ name: `${method} ${path}`, ...operation })),
    );
    const takes = routes.filter(({ parameters }) =>
      parameters?.some(({ name }) => name === 'Idempotency-Key'),
    );
    expect(takes.length).toBeGreaterThan(50);
    expect(takes.filter(({ responses }) => withSecrets(responses)).map(({ name }) => name)).toEqual([]);
    const secretive = routes.filter(({ responses }) => withSecrets(responses)).map(({ name }) => name);
    expect(secretive).toEqual(expect.arrayContaining(['post /api/v1/tokens', 'post /api/v1/people']));
  });

  it.each([
    ['abc', 'abc'],
    ['"8e03978e-40d5-43dd-bc93-6894a57f9324"', '8e03978e-40d5-43dd-bc93-6894a57f9324'],
    ['"a \\"b\\" \\\\ c"', 'a "b" \\ c'],
  ])('reads the key %s', (header, key) => {
    expect(keyOf(header)).toBe(key);
  });

  it.each(['', '""', 'a b', '"a', 'é', `"${'x'.repeat(256)}"`, '"a\\b"'])('takes %s for no key', (header) => {
    expect(() => keyOf(header)).toThrow('Idempotency-Key');
  });
});
