import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { Validator } from '@seriousme/openapi-schema-validator';
import { Claim } from '../../src/book/index.js';
import { declaredRoutes } from '../../src/http/routes.js';
import { Message } from '../../src/reminders/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CROP } from '../factories/cuts.js';

type Json = Record<string, unknown>;

describe('API v1', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
  });
  afterAll(() => test.close());

  const addClient = async (changes: Json = {}): Promise<string> => {
    const input = { givenName: 'Odile', familyName: 'Marrable', email: 'odile@example.org', ...changes };
    const answer = await test.ask('desk', 'POST', '/api/v1/clients', input);
    expect(answer.status).toBe(201);
    return (answer.body as { client: { id: string } }).client.id;
  };
  const booking = (clientId: string, time: string, changes: Json = {}) => ({
    clientId,
    staffId: test.mara.id,
    serviceId: test.fullCut.id,
    date: '2026-06-02',
    time,
    ...changes,
  });

  it('walks the main job: book, arrive, complete, suggest, book the suggested slot, count it', async () => {
    const clientId = await addClient();
    const booked = await test.ask('desk', 'POST', '/api/v1/appointments', booking(clientId, '10:00'));
    expect(booked.status).toBe(201);
    const { id } = (booked.body as { appointment: { id: string } }).appointment;
    const owed = await test.ask('desk', 'GET', '/api/v1/messages?state=owed');
    expect(JSON.stringify(owed.body)).toContain(id);

    test.clock.at = Date.parse('2026-06-02T09:05:00Z');
    expect((await test.ask('desk', 'POST', `/api/v1/appointments/${id}/arrival`)).status).toBe(200);
    test.clock.at = Date.parse('2026-06-02T09:50:00Z');
    const completed = await test.ask('stylist', 'POST', `/api/v1/appointments/${id}/completion`, {
      formula: CROP,
    });
    expect(completed.status).toBe(201);
    const { suggestion } = completed.body as unknown as {
      suggestion: {
        window: { dueOn: string };
        working: object;
        service: { id: string };
        slots: { staffId: string; startsAt: number; date: string }[];
      };
    };
    // The nape of 6 mm passes its limit first, and a tidy covers it.
    expect(suggestion.service.id).toBe(test.tidy.id);
    expect(suggestion.slots).toHaveLength(3);
    // Mara works every day, so her working days are the window itself.
    expect(suggestion.working).toMatchObject({
      staffId: test.mara.id,
      dueOn: suggestion.window.dueOn,
      outside: null,
    });

    const before = await test.ask('owner', 'GET', '/api/v1/reports/rebooking-rate');
    expect(before.body).toMatchObject({ byMonth: [{ month: '2026-06', count: 0, of: 1 }] });
    const [slot] = suggestion.slots;
    const next = await test.ask('desk', 'POST', '/api/v1/appointments', {
      clientId,
      staffId: slot?.staffId,
      serviceId: suggestion.service.id,
      startsAt: slot?.startsAt,
    });
    expect(next.status).toBe(201);
    const after = await test.ask('owner', 'GET', '/api/v1/reports/rebooking-rate');
    expect(after.body).toMatchObject({ byMonth: [{ month: '2026-06', count: 1, of: 1 }] });

    const formula = await test.ask('stylist', 'GET', `/api/v1/clients/${clientId}/formula?on=2026-06-19`);
    expect(formula.status).toBe(200);
    // 17 days at 0.35 mm: the published adult mean doubles a 6 mm nape.
    const zones = (formula.body as unknown as { zones: { zone: string; now: { meanMm: number } }[] }).zones;
    expect(zones.find(({ zone }) => zone === 'nape')?.now.meanMm).toBeCloseTo(11.95, 6);
  });

  it('completes an appointment once', async () => {
    const clientId = await addClient({ givenName: 'Ines' });
    test.clock.at = Date.parse('2026-06-03T08:00:00Z');
    const booked = await test.ask(
      'desk',
      'POST',
      '/api/v1/appointments',
      booking(clientId, '11:00', { date: '2026-06-03' }),
    );
    const { id } = (booked.body as { appointment: { id: string } }).appointment;
    test.clock.at = Date.parse('2026-06-03T10:30:00Z');
    const twice = await Promise.all(
      [1, 2].map(() =>
        test.ask('stylist', 'POST', `/api/v1/appointments/${id}/completion`, { formula: CROP }),
      ),
    );
    expect(twice.map(({ status }) => status).sort()).toEqual([201, 409]);
  });

  it('gives one chair to one of 200 rivals, and tells the others the next free times', async () => {
    const clients = await Promise.all(
      Array.from({ length: 20 }, (_, i) => addClient({ givenName: `Rival ${i}` })),
    );
    const times = ['14:00', '14:15', '14:30', '13:45'];
    const answers = await Promise.all(
      Array.from({ length: 200 }, (_, i) =>
        test.ask(
          'desk',
          'POST',
          '/api/v1/appointments',
          booking(clients[i % 20] as string, times[i % times.length] as string, { date: '2026-06-10' }),
        ),
      ),
    );
    const won = answers.filter(({ status }) => status === 201);
    const lost = answers.filter(({ status }) => status === 409);
    expect(lost).toHaveLength(200 - won.length);
    // 13:45 and 14:30 do not overlap at 45 minutes, so at most two can win.
    expect([1, 2]).toContain(won.length);
    expect(lost.every(({ body }) => ['BOOK.TAKEN', 'BOOK.CLIENT_BUSY'].includes(String(body['code'])))).toBe(
      true,
    );
    expect(
      lost.some(({ body }) => body['code'] === 'BOOK.TAKEN' && JSON.stringify(body).includes('2026-06-10')),
    ).toBe(true);
    const overlaps = await test.reader.manager.query(
      'SELECT a.id FROM claim a JOIN claim b ON a."staffId" = b."staffId" AND a.id < b.id ' +
        'AND a."startsAt" < b."endsAt" AND b."startsAt" < a."endsAt"',
    );
    expect(overlaps).toEqual([]);
  });

  it('leaves exactly one of 200 rivals for the very same time', async () => {
    const clients = await Promise.all(
      Array.from({ length: 20 }, (_, i) => addClient({ givenName: `Same ${i}` })),
    );
    const answers = await Promise.all(
      clients.flatMap((clientId) =>
        Array.from({ length: 10 }, () =>
          test.ask(
            'desk',
            'POST',
            '/api/v1/appointments',
            booking(clientId, '15:00', { date: '2026-06-11' }),
          ),
        ),
      ),
    );
    expect(answers.filter(({ status }) => status === 201)).toHaveLength(1);
    expect(answers.filter(({ status }) => status === 409)).toHaveLength(199);
  });

  it.each([
    ['a phone number that is none', 'POST', '/api/v1/clients', { givenName: 'A', phone: '12' }, 'phone'],
    ['a mail address that is none', 'POST', '/api/v1/clients', { givenName: 'A', email: 'a@' }, 'email'],
    ['a name that is missing', 'POST', '/api/v1/clients', { familyName: 'B' }, 'givenName'],
    ['a field nobody knows', 'POST', '/api/v1/clients', { givenName: 'A', colour: 'x' }, 'colour'],
    ['a list for an object', 'POST', '/api/v1/clients', [1], undefined],
    ['a date that is none', 'GET', '/api/v1/appointments?date=2026-02-30', undefined, 'date'],
    ['an id that is none', 'GET', '/api/v1/clients/42', undefined, 'id'],
    ['a limit beyond bounds', 'GET', '/api/v1/due?limit=0', undefined, 'limit'],
    ['slots without a service', 'GET', '/api/v1/slots', undefined, 'serviceId'],
    ['an unknown state', 'GET', '/api/v1/messages?state=lost', undefined, 'state'],
  ])('refuses %s and names the field', async (_, method, path, body, field) => {
    const count = () => test.reader.manager.query('SELECT count(*) AS n FROM client');
    const before = await count();
    const answer = await test.ask('desk', method, path, body);
    expect(answer.status).toBe(422);
    expect(answer.type).toContain('application/problem+json');
    if (field)
      expect(
        (answer.body as unknown as { fields: Json[] }).fields.map((problem) => problem['field']),
      ).toContain(field);
    expect(await count()).toEqual(before);
  });

  it('refuses an end before the start by name', async () => {
    const clientId = await addClient({ givenName: 'Backward' });
    const startsAt = Date.parse('2026-06-12T09:00:00Z');
    const answer = await test.ask('desk', 'POST', '/api/v1/appointments', {
      clientId,
      staffId: test.mara.id,
      serviceId: test.fullCut.id,
      startsAt,
      endsAt: startsAt - 60_000,
    });
    expect(answer.status).toBe(422);
    expect(JSON.stringify(answer.body)).toContain('endsAt');
    expect(await test.reader.manager.countBy(Claim, { startsAt })).toBe(0);
  });

  it('refuses a body of 5 MB, broken JSON and a kind of content it does not know', async () => {
    const send = (payload: string, type = 'application/json') =>
      test.app.inject({
        method: 'POST',
        url: '/api/v1/sessions',
        payload,
        headers: { 'content-type': type },
      });
    const huge = await send(JSON.stringify({ email: 'x'.repeat(5 * 1024 * 1024), password: '' }));
    expect(huge.statusCode).toBe(413);
    expect(huge.json()['detail']).toContain('body');
    expect((await send('{"email":')).statusCode).toBe(400);
    expect((await send('<a/>', 'text/xml')).statusCode).toBe(415);
  });

  it('lets nobody in without a token, and no role past its rights', async () => {
    for (const path of [
      '/api/v1/clients',
      '/api/v1/appointments',
      '/api/v1/messages',
      '/api/v1/reports/rebooking-rate',
    ]) {
      expect((await test.ask('nobody', 'GET', path)).status).toBe(401);
    }
    expect((await test.ask('desk', 'GET', '/api/v1/reports/rebooking-rate')).status).toBe(403);
    expect((await test.ask('stylist', 'GET', '/api/v1/messages')).status).toBe(403);
    const clientId = await addClient({ givenName: 'Private' });
    expect((await test.ask('desk', 'GET', `/api/v1/clients/${clientId}/visits`)).status).toBe(403);
    const wrong = await test.app.inject({
      method: 'POST',
      url: '/api/v1/sessions',
      payload: { email: 'owner@wren-tallow.example.org', password: 'not the password' },
    });
    expect(wrong.statusCode).toBe(401);
    expect(wrong.json()['code']).toBe('SIGN_IN.REFUSED');
  });

  it('takes safety notes down, lets a scalp settle, and a clearance only from the owner', async () => {
    const client = await test.ask('stylist', 'POST', '/api/v1/clients', { givenName: 'Isaura' });
    const path = `/api/v1/clients/${(client.body as { client: { id: string } }).client.id}`;
    const settle = () => test.ask('stylist', 'POST', `${path}/scalp-settled`);
    expect(await settle()).toMatchObject({ status: 409, body: { code: 'SKIN_TEST.SCALP_NOT_NOTED' } });
    const note = { kind: 'irritated-scalp', told: 'Red along the hairline' };
    expect((await test.ask('desk', 'POST', `${path}/safety-notes`, note)).status).toBe(403);
    const noted = await test.ask('stylist', 'POST', `${path}/safety-notes`, note);
    expect(noted).toMatchObject({ status: 201, body: { note: { ...note, endedAt: null } } });
    expect(noted.body['cautions']).not.toHaveLength(0);
    expect((await settle()).status).toBe(204);
    const clearance = {
      documentedOn: '2026-05-20',
      issuedBy: 'Dr Quennell, Oxmarsh',
      says: 'May be coloured',
    };
    const byStylist = await test.ask('stylist', 'POST', `${path}/medical-clearances`, clearance);
    expect(byStylist).toMatchObject({ status: 403, body: { code: 'SKIN_TEST.OWNER_ONLY' } });
    const byOwner = await test.ask('owner', 'POST', `${path}/medical-clearances`, clearance);
    expect(byOwner).toMatchObject({ status: 409, body: { code: 'SKIN_TEST.NOTHING_TO_CLEAR' } });
    const unsaid = await test.ask('stylist', 'POST', `${path}/safety-notes`, { kind: 'irritated-scalp' });
    expect(unsaid).toMatchObject({ status: 422, body: { fields: [{ field: 'told' }] } });
  });

  it('describes itself', async () => {
    const answer = await test.app.inject({ method: 'GET', url: '/api/docs-json' });
    const document = answer.json();
    expect(document.openapi).toBe('3.1.0');
    // The OpenAPI Initiative's own schema of version 3.1, and every reference.
    const validator = new Validator();
    expect(await validator.validate(structuredClone(document))).toEqual({ valid: true });
    expect(() => validator.resolveRefs()).not.toThrow();
    const described = Object.entries<Record<string, { operationId: string }>>(document.paths).flatMap(
      ([path, methods]) => Object.keys(methods).map((method) => `${method.toUpperCase()} ${path}`),
    );
    const served = declaredRoutes(test.app)
      .filter(({ path }) => path.startsWith('/api/v1/'))
      .map(({ method, path }) => `${method} ${path.replaceAll(/:(\w+)/g, '{$1}')}`);
    expect(described.sort()).toEqual(served.sort());
    expect(Object.keys(document.paths)).toContain('/api/v1/appointments/{id}/completion');
    expect(document.components.schemas.FormulaInput.properties.steps.items.$ref).toBe(
      '#/components/schemas/StepInput',
    );
    // Every operation says what it answers with when all is well: nothing, or what of which kind.
    const silent = Object.entries<Record<string, { responses: Record<string, { content?: object }> }>>(
      document.paths,
    ).flatMap(([path, methods]) =>
      Object.entries(methods).flatMap(([method, { responses }]) =>
        Object.entries(responses)
          .filter(([status, { content }]) => /^2/.test(status) && status !== '204' && !content)
          .map(([status]) => `${method} ${path} ${status}`),
      ),
    );
    expect(silent).toEqual([]);
    expect(document.components.schemas.BookInput.required).toContain('clientId');
    expect((await test.app.inject({ method: 'GET', url: '/api/docs' })).statusCode).toBe(200);
  });

  it('owes nothing for what was refused', async () => {
    const messages = await test.reader.manager.find(Message);
    const claims = await test.reader.manager.find(Claim);
    const held = new Set(claims.map(({ appointmentId }) => appointmentId));
    expect(
      messages.filter(({ state, appointmentId }) => state === 'owed' && !held.has(String(appointmentId))),
    ).toEqual([]);
  });
});
