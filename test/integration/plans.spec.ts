import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { FormulaInput } from '../../src/cuts/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CROP } from '../factories/cuts.js';

const DAY_MS = 86_400_000;

/** Longer everywhere but at the nape. */
const LONGER: FormulaInput = {
  ...CROP,
  name: 'Longer crop',
  lengths: [
    { zone: 'nape', leftMm: 6 },
    { zone: 'back', leftMm: 60 },
    { zone: 'top', leftMm: 70 },
    { zone: 'fringe', leftMm: 80 },
  ],
};

describe('plans and reshapes', () => {
  let test: TestApp;
  let clientId: string;
  let longerId: string;

  const visit = async (formula: FormulaInput) => {
    const answer = await test.ask('stylist', 'POST', '/api/v1/visits', {
      clientId,
      staffId: test.mara.id,
      serviceId: test.fullCut.id,
      formula,
    });
    expect(answer.status).toBe(201);
    return (answer.body as { visit: { formulaId: string } }).visit.formulaId;
  };

  beforeAll(async () => {
    test = await startTestApp('2026-06-01T10:00:00Z');
    const added = await test.ask('desk', 'POST', '/api/v1/clients', { givenName: 'Odile' });
    clientId = (added.body as { client: { id: string } }).client.id;
    longerId = await visit(LONGER);
    test.clock.at += 30 * DAY_MS;
    await visit(CROP);
  });
  afterAll(() => test.close());

  it('plans tidies that keep the nape within its limit, on working days only', async () => {
    const answer = await test.ask('stylist', 'GET', `/api/v1/clients/${clientId}/plan`);
    expect(answer.status).toBe(200);
    const { plan, why } = answer.body as {
      plan: {
        cuts: { on: string; kind: string }[];
        reach: { zone: string; grownMm: number }[];
        words: string;
      };
      why: { sources: string[] };
    };
    const nape = plan.reach.find(({ zone }) => zone === 'nape');
    expect(nape?.grownMm).toBeLessThanOrEqual(6 + 0.35);
    // 6 mm at 0.35 mm a day hold 17 days: half a year of 182 needs at least ten visits.
    expect(plan.cuts.length).toBeGreaterThanOrEqual(10);
    expect(plan.cuts.filter(({ kind }) => kind === 'tidy').length).toBeGreaterThan(
      plan.cuts.filter(({ kind }) => kind === 'full').length,
    );
    expect(why.sources.join(' ')).toContain('Loussouarn');
  });

  it('dates the way back to longer hair and draws every stage', async () => {
    const answer = await test.ask('stylist', 'GET', `/api/v1/clients/${clientId}/reshape?to=${longerId}`);
    expect(answer.status).toBe(200);
    const { path, drawings } = answer.body as {
      path: {
        feasibleToday: boolean;
        ready50Days: number;
        stages: unknown[];
        zones: { zone: string; state: string }[];
      };
      drawings: { svg: string }[];
    };
    expect(path.feasibleToday).toBe(false);
    // The back lacks 35 mm: 100 days at 0.35 mm a day.
    expect(path.ready50Days).toBe(100);
    expect(path.zones.find(({ zone }) => zone === 'nape')?.state).toBe('cut-now');
    expect(drawings).toHaveLength(path.stages.length);
    expect(drawings.every(({ svg }) => svg.startsWith('<svg'))).toBe(true);
  });

  it('draws the shape for those who may see cuts, and for no other', async () => {
    const path = `/api/v1/clients/${clientId}/drawing?view=back&moment=today&behind=as-cut`;
    const drawing = await test.ask('stylist', 'GET', path);
    expect(drawing).toMatchObject({ status: 200, type: 'image/svg+xml; charset=utf-8' });
    expect((await test.ask('desk', 'GET', path)).status).toBe(403);
    expect((await test.ask('stylist', 'GET', `${path}&view=top`)).status).toBe(422);
  });

  it("refuses another client's formula as a target", async () => {
    const other = await test.ask('desk', 'POST', '/api/v1/clients', { givenName: 'Ines' });
    const otherId = (other.body as { client: { id: string } }).client.id;
    expect(
      (await test.ask('stylist', 'GET', `/api/v1/clients/${otherId}/reshape?to=${longerId}`)).status,
    ).toBe(404);
    expect((await test.ask('stylist', 'GET', `/api/v1/clients/${otherId}/plan`)).body).toHaveProperty(
      'refused',
    );
  });
});
