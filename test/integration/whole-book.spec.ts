import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { goneBy, windowsOf } from '../../src/engine/plan/index.js';
import { batchOfStored, ShapeWindow, Windows } from '../../src/rebooking/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CROP, CROP_TIDIED } from '../factories/cuts.js';

const DAY_MS = 86_400_000;

describe('stored windows', () => {
  let test: TestApp;
  let clientId: string;
  beforeEach(async () => {
    test = await startTestApp('2026-06-01T10:00:00Z');
    const added = await test.ask('desk', 'POST', '/api/v1/clients', { givenName: 'Odile' });
    clientId = (added.body as { client: { id: string } }).client.id;
  });
  afterEach(() => test.close());

  const visit = async (input: object) => {
    const answer = await test.ask('stylist', 'POST', '/api/v1/visits', {
      clientId,
      staffId: test.mara.id,
      serviceId: test.fullCut.id,
      ...input,
    });
    expect(answer.status).toBe(201);
  };
  const stored = () => test.reader.manager.findOneByOrFail(ShapeWindow, { clientId });

  it.each([
    ['a new cut', { formula: { ...CROP, limits: [{ kind: 'longer-than', zone: 'top', value: 90 }] } }],
    ['a tidy', { formula: CROP_TIDIED }],
    ['a measurement without a cut', { measurements: [{ zone: 'nape', lengthMm: 19, tool: 'guard' }] }],
    ['a mark without a cut', { marks: [{ zone: 'nape', state: 'still-holding' }] }],
  ])('is never older than %s', async (_, input) => {
    await visit({ formula: CROP });
    const before = await stored();
    test.clock.at += 28 * DAY_MS;
    await visit(input);
    const after = await stored();
    expect(after.packed).not.toBe(before.packed);
    const afresh = await test.app.get(Windows, { strict: false }).compute(test.reader.manager, clientId);
    expect(after).toMatchObject({
      earliestOn: afresh?.earliestOn,
      dueOn: afresh?.dueOn,
      latestOn: afresh?.latestOn,
      reason: afresh?.first.reason,
    });
  });

  it('carries what sums over the whole book need', async () => {
    await visit({ formula: CROP });
    const row = await stored();
    const batch = batchOfStored([row, row]);
    const days = (date: string) => (Date.parse(date) - Date.parse(row.cutOn)) / DAY_MS;
    const windows = windowsOf(batch);
    expect([...windows.dueDays]).toEqual([days(row.dueOn), days(row.dueOn)]);
    const [atDue = 0, atCut = 1] = goneBy(batch, [days(row.dueOn), 0]);
    // The due day is the one on which the shape has gone with probability one half, to the whole day.
    expect(Math.abs(atDue - 0.5)).toBeLessThan(0.06);
    expect(atCut).toBeLessThan(0.01);
  });
});
