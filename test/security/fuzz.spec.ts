import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { OpenAPIObject } from '@nestjs/swagger';
import fc from 'fast-check';
import { startTestApp, type TestApp } from '../factories/app.js';
import { type FuzzRequest, fuzzRequests } from '../factories/fuzz.js';
import { dataVersion, openSession, plantMarked } from '../factories/security.js';

/** Requests of the ordinary run; FUZZ=100000 for the long one, FUZZ_SEED to repeat one. */
const RUNS = Number(process.env['FUZZ'] ?? 2500);
const SEED = Number(process.env['FUZZ_SEED'] ?? 20_261_125);

/** A wrong password is put on the audit trail: the one refusal that leaves a row. */
const RECORDS_REFUSALS = /^\/api\/v1\/(sessions|account\/(password|pin|codes))/;

describe('requests made from the API description and by mutation', () => {
  let test: TestApp;
  let requests: fc.Arbitrary<FuzzRequest>;
  let token: string;
  let clientId: string;
  let exits: unknown[] = [];
  const onError = (error: unknown) => {
    exits.push(error);
  };

  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
    const marked = await plantMarked(test);
    clientId = marked.clientId;
    const document = (await test.app.inject('/api/docs-json')).json() as OpenAPIObject;
    requests = fuzzRequests(document, {
      ...marked,
      staffId: test.mara.id,
      serviceId: test.fullCut.id,
      salonId: test.salon.id,
    });
    token = await openSession(test.app, 'owner', 'api');
    process.on('uncaughtException', onError);
    process.on('unhandledRejection', onError);
  });
  afterAll(async () => {
    process.off('uncaughtException', onError);
    process.off('unhandledRejection', onError);
    exits = [];
    await test.close();
  });

  const send = async ({ method, url, headers, payload }: FuzzRequest) => {
    const before = await dataVersion(test.reader);
    const answer = await test.app.inject({
      method: method as 'GET',
      url,
      headers: { ...headers, authorization: `Bearer ${token}` },
      ...(payload !== undefined && { payload }),
    });
    return {
      status: answer.statusCode,
      body: answer.body,
      changed: (await dataVersion(test.reader)) !== before,
    };
  };

  it(
    `answer ${RUNS} of them without a fault, and none that is refused changes a row`,
    async () => {
      const statuses = new Map<number, number>();
      const routes = new Set<string>();
      const faults: string[] = [];
      const fault = (what: string, { method, url, headers, payload }: FuzzRequest) => {
        if (faults.length < 20) faults.push(`${what}: ${JSON.stringify([method, url, headers, payload])}`);
      };
      await fc.assert(
        fc.asyncProperty(requests, async (request) => {
          const { status, body, changed } = await send(request);
          statuses.set(status, (statuses.get(status) ?? 0) + 1);
          routes.add(`${request.method} ${request.route}`);
          // It signed itself out: the next ones are to be somebody's again.
          if (status === 204 || status === 401) token = await openSession(test.app, 'owner', 'api');
          if (status >= 500) fault(`answered ${status}`, request);
          if (/node_modules|SQLITE|QueryFailed/.test(body)) fault('told of its inside', request);
          const mayLeaveRow = status < 400 || RECORDS_REFUSALS.test(request.url);
          if (changed && !mayLeaveRow) fault(`refused with ${status} but changed a row`, request);
        }),
        { numRuns: RUNS, seed: SEED },
      );
      expect(faults).toEqual([]);
      expect(exits).toEqual([]);
      if (process.env['FUZZ'])
        process.stdout.write(`${JSON.stringify([...statuses])} ${routes.size} routes\n`);
      // It got past the checks as well: a fuzz that is always refused at the door shows little.
      expect(statuses.get(200) ?? 0).toBeGreaterThan(RUNS / 50);
      expect(statuses.get(422) ?? 0).toBeGreaterThan(RUNS / 20);
      expect(routes.size).toBeGreaterThan(20);
    },
    60_000 + RUNS * 60,
  );

  const deep = (levels: number) => `${'{"a":'.repeat(levels)}1${'}'.repeat(levels)}`;

  // Failures that were found, kept as they were sent; each answered 500.
  it.each([
    ['half a sign in a mail address', '/api/v1/clients', '{"givenName":"7","email":"\\ud800"}', 422],
    ['an object for a text', '/api/v1/texts/replies', '{"from":"__proto__","text":{"toString":1}}', 403],
    ['an object for an id', '/api/v1/texts/reports', '{"id":{"toString":1},"status":"delivered"}', 403],
    ['nesting without end', '/api/v1/visits', `{"formula":{"steps":${deep(40_000)}}}`, 422],
  ])('still stands: %s', async (_, url, payload, expected) => {
    const headers = { 'content-type': 'application/json' };
    const { status, changed } = await send({ method: 'POST', route: url, url, headers, payload });
    expect({ status, changed }).toEqual({ status: expected, changed: false });
  });

  it('still stands: a list inside a list', async () => {
    const payload = JSON.stringify({ clientId, name: 'n', visits: [[]] });
    const headers = { 'content-type': 'application/json' };
    const url = '/api/v1/series';
    const { status, body } = await send({ method: 'POST', route: url, url, headers, payload });
    expect(status).toBe(422);
    expect(body).toContain('visits: this holds a list inside a list');
  });
});
