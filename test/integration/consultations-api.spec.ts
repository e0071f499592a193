import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { SkinTest } from '../../src/skin-tests/index.js';
import { newId } from '../../src/store/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CALM_HEALTH, TALK } from '../factories/consultations.js';

const NOBODY = '01890000-0000-7000-8000-000000000000';
const LINE = 'Umberline Cream 10';

/** The path through the chair over HTTP: talk, draft, colour. */
describe('the chair-side over HTTP', () => {
  let test: TestApp;
  let clientId: string;
  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
    const client = await test.ask('stylist', 'POST', '/api/v1/clients', {
      givenName: 'Odile',
      birthday: '1984-05-27',
    });
    clientId = (client.body as { client: { id: string } }).client.id;
  });
  afterAll(() => test.close());

  it('records a consultation, and shows its health part to those who may see it', async () => {
    const path = `/api/v1/clients/${clientId}/consultations`;
    const body = { staffId: test.mara.id, ...TALK, health: CALM_HEALTH };
    expect((await test.ask('desk', 'POST', path, body)).status).toBe(403);
    const recorded = await test.ask('stylist', 'POST', path, body);
    expect(recorded.status).toBe(201);
    const { id } = recorded.body['consultation'] as { id: string };
    const list = await test.ask('owner', 'GET', path);
    expect(list.body).toMatchObject({ consultations: [{ id, ...TALK }], consents: [] });
    expect(JSON.stringify(list.body)).not.toContain('Latex');
    const health = `/api/v1/consultations/${id}/health`;
    expect((await test.ask('owner', 'GET', health)).body).toEqual({ health: CALM_HEALTH });
    expect((await test.ask('desk', 'GET', health)).status).toBe(403);
    expect((await test.ask('desk', 'GET', path)).status).toBe(403);
    const unknown = await test.ask('owner', 'GET', `/api/v1/consultations/${NOBODY}/health`);
    expect(unknown.status).toBe(404);
    for (const wrong of [undefined, 'words', [], { staffId: 1 }]) {
      const answer = await test.ask('stylist', 'POST', path, wrong);
      expect(answer.status).toBeGreaterThanOrEqual(400);
      expect(answer.status).toBeLessThan(500);
    }
  });

  it('answers the second of two editors of a draft with both versions', async () => {
    const path = '/api/v1/drafts';
    const key = { clientId, staffId: test.mara.id };
    const saved = await test.ask('stylist', 'PUT', path, { ...key, body: { notes: 'a' } });
    expect(saved).toMatchObject({ status: 200, body: { draft: { version: 1 } } });
    const late = await test.ask('owner', 'PUT', path, { ...key, body: { notes: 'b' } });
    expect(late).toMatchObject({
      status: 409,
      body: {
        code: 'DRAFT.STALE',
        theirs: { version: 1, body: { notes: 'a' }, savedBy: 'The stylist' },
        yours: { notes: 'b' },
      },
    });
    const query = `${path}?clientId=${clientId}&staffId=${test.mara.id}`;
    const got = await test.ask('stylist', 'GET', query);
    expect(got.body).toMatchObject({ draft: { body: { notes: 'a' } }, setAside: [{ body: { notes: 'b' } }] });
    expect((await test.ask('desk', 'GET', query)).status).toBe(403);
    expect((await test.ask('stylist', 'DELETE', query)).status).toBe(204);
    expect((await test.ask('stylist', 'GET', query)).body).toEqual({ draft: null, setAside: [] });
    for (const wrong of [
      undefined,
      'x',
      { ...key },
      { ...key, body: {}, expectedVersion: {} },
      { body: {} },
    ]) {
      const answer = await test.ask('stylist', 'PUT', path, wrong);
      expect(answer.status).toBeGreaterThanOrEqual(400);
      expect(answer.status).toBeLessThan(500);
    }
  });

  it('records a colour only behind the gate, and tells the root band with the cautions', async () => {
    const bowl = {
      name: 'Roots',
      zones: ['top'],
      place: 'roots',
      lines: [{ productLine: LINE, shade: '6/0', parts: 1 }],
      developerPercent: 6,
      developerParts: 1,
      minutes: 30,
    };
    const parties = { clientId, staffId: test.mara.id };
    const visitOf = async (serviceId: string) =>
      await test.ask('stylist', 'POST', '/api/v1/visits', { ...parties, serviceId, productLine: LINE });
    expect((await visitOf(test.colour.id)).body).toMatchObject({ code: 'SKIN_TEST.NO_TEST' });
    await test.units.run((manager) =>
      manager.insert(SkinTest, {
        id: newId(),
        version: 1,
        clientId,
        productLine: LINE,
        place: 'inner elbow',
        appliedAt: Date.parse('2026-05-28T09:00Z'),
        readAt: Date.parse('2026-05-30T10:00Z'),
        readingRecordedAt: Date.parse('2026-05-30T10:00Z'),
        result: 'clear',
      }),
    );
    const idOf = (answer: { body: Readonly<Record<string, unknown>> }) =>
      (answer.body as { visit: { id: string } }).visit.id;
    const cut = idOf(await visitOf(test.fullCut.id));
    const refused = await test.ask('stylist', 'POST', `/api/v1/visits/${cut}/colour`, bowl);
    expect(refused).toMatchObject({ status: 409, body: { code: 'COLOUR.NO_GATE' } });
    expect(refused.body['cautions']).toEqual(expect.arrayContaining([expect.stringContaining('allergic')]));

    const colour = idOf(await visitOf(test.colour.id));
    expect((await test.ask('desk', 'POST', `/api/v1/visits/${colour}/colour`, bowl)).status).toBe(403);
    expect((await test.ask('stylist', 'POST', `/api/v1/visits/${colour}/colour`, bowl)).status).toBe(201);
    const tolerance = `/api/v1/clients/${clientId}/root-band-tolerance`;
    expect((await test.ask('stylist', 'PUT', tolerance, { toleranceMm: 14 })).status).toBe(200);
    const told = await test.ask('owner', 'GET', `/api/v1/clients/${clientId}/colour?on=2026-06-21`);
    expect(told.body).toMatchObject({
      formulas: [{ formula: { name: 'Roots', developerPercent: 6 }, developerVolumes: 20 }],
      rootBand: { band: { days: 20, meanMm: expect.closeTo(7, 6) }, passes: { dueOn: '2026-07-11' } },
      cautions: expect.arrayContaining([expect.stringContaining('allergic')]),
    });
    const wrongDate = await test.ask('owner', 'GET', `/api/v1/clients/${clientId}/colour?on=soon`);
    expect(wrongDate.status).toBe(422);
  });
});
