import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { HoldLimitRow } from '../../src/cuts/index.js';
import { ShapeWindow } from '../../src/rebooking/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CROP } from '../factories/cuts.js';

const DAY_MS = 86_400_000;

describe('marks on arrival', () => {
  let test: TestApp;
  let clientId: string;
  beforeEach(async () => {
    test = await startTestApp('2026-06-01T10:00:00Z');
    const added = await test.ask('desk', 'POST', '/api/v1/clients', { givenName: 'Odile' });
    clientId = (added.body as { client: { id: string } }).client.id;
    expect((await visit({ formula: CROP })).status).toBe(201);
  });
  afterEach(() => test.close());

  const visit = (input: object) =>
    test.ask('stylist', 'POST', '/api/v1/visits', {
      clientId,
      staffId: test.mara.id,
      serviceId: test.fullCut.id,
      ...input,
    });
  const napeLimit = async () => {
    const window = await test.reader.manager.findOneByOrFail(ShapeWindow, { clientId });
    const { formulaId } = window;
    const limit = await test.reader.manager.findOneByOrFail(HoldLimitRow, {
      formulaId,
      zone: 'nape',
      kind: 'grown-by',
    });
    return { ...limit, holdsDays: (Date.parse(window.dueOn) - test.clock.at) / DAY_MS };
  };

  it('still holding past its limit lengthens it and the window', async () => {
    const before = await napeLimit();
    test.clock.at += 26 * DAY_MS;
    const measurements = [{ zone: 'nape', lengthMm: 15, tool: 'guard' }];
    const answer = await visit({
      formula: CROP,
      measurements,
      marks: [{ zone: 'nape', state: 'still-holding' }],
    });
    expect(answer.status).toBe(201);
    const after = await napeLimit();
    // 9 mm had grown and it held: the 6 mm limit was too short for her.
    expect(after.value).toBeGreaterThan(before.value + 1);
    expect(after.sd).toBeGreaterThan(0);
    expect(after.holdsDays).toBeGreaterThan(before.holdsDays + 3);
  });

  it('long gone well before its limit shortens it', async () => {
    const formula = { ...CROP, limits: CROP.limits?.slice(0, 1) };
    await visit({ formula });
    const before = await napeLimit();
    test.clock.at += 10 * DAY_MS;
    const measurements = [{ zone: 'nape', lengthMm: 10, tool: 'guard' }];
    await visit({ formula, measurements, marks: [{ zone: 'nape', state: 'long-gone' }] });
    expect((await napeLimit()).value).toBeLessThan(before.value - 0.5);
  });

  it('a limit the stylist set anew on the day stays as set', async () => {
    test.clock.at += 26 * DAY_MS;
    const limits = [{ kind: 'grown-by', zone: 'nape', value: 8 }];
    await visit({ formula: { ...CROP, limits }, marks: [{ zone: 'nape', state: 'still-holding' }] });
    expect(await napeLimit()).toMatchObject({ value: 8, sd: null });
  });

  it('moves the standing limits when nothing was cut', async () => {
    const before = await napeLimit();
    test.clock.at += 26 * DAY_MS;
    await visit({ marks: [{ zone: 'nape', state: 'still-holding' }] });
    const after = await napeLimit();
    expect(after.formulaId).toBe(before.formulaId);
    expect(after.value).toBeGreaterThan(before.value);
  });

  it('refuses a mark it does not know and moves nothing', async () => {
    const before = await napeLimit();
    const answer = await visit({ formula: CROP, marks: [{ zone: 'nape', state: 'fine' }] });
    expect(answer.status).toBe(422);
    expect(answer.body).toMatchObject({ fields: [{ field: 'marks.0.state' }] });
    expect(await napeLimit()).toEqual(before);
  });
});
