import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { Clients } from '../../src/clients/index.js';
import { SYSTEM } from '../../src/identity/index.js';
import { ShapeWindow } from '../../src/rebooking/index.js';
import { shapeRow } from '../../src/reminders/due-shapes.js';
import { Dispatcher, Message, Runs, Upkeep } from '../../src/reminders/index.js';
import { oweRows } from '../../src/reminders/owe-rows.js';
import { isHeldOut } from '../../src/reports/held-out.js';
import { FIGURE_PARTS, type Figure, HoldOuts } from '../../src/reports/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CLIENT_INPUT } from '../factories/clients.js';
import { CROP } from '../factories/cuts.js';

const PERCENT = 50;

describe('clients whom the owner leaves without nudges', () => {
  let house: TestApp;
  /** Held out, and not. */
  let left: string;
  let asked: string;

  beforeAll(async () => {
    house = await startTestApp();
    const clients = house.app.get(Clients, { strict: false });
    await house.app.get(HoldOuts, { strict: false }).set(house.salon.id, { percent: PERCENT }, SYSTEM);
    // By lot: so long until there is one of each.
    for (let i = 0; !left || !asked; i += 1) {
      const input = { ...CLIENT_INPUT, salonId: house.salon.id, email: `c${i}@example.org`, phone: null };
      const { id } = (await clients.add(input, SYSTEM)).client;
      if (isHeldOut(id, PERCENT)) left ??= id;
      else asked ??= id;
    }
    for (const clientId of [left, asked]) {
      const yes = { channel: 'mail', purpose: 'rebooking', given: true, source: 'desk' };
      await clients.setConsent(clientId, yes, SYSTEM);
      const visit = { clientId, staffId: house.mara.id, serviceId: house.fullCut.id, formula: CROP };
      expect((await house.ask('stylist', 'POST', '/api/v1/visits', visit)).status).toBe(201);
    }
  });
  afterAll(() => house.close());

  const deliver = () => house.app.get(Dispatcher, { strict: false }).deliverDue();
  const told = async (clientId: string) =>
    (await house.reader.manager.find(Message, { where: { clientId }, order: { id: 'ASC' } })).map(
      ({ kind, state, reason }) => [kind, state, reason].filter(Boolean).join(' '),
    );
  const book = async (clientId: string, time: string) => {
    const input = { clientId, staffId: house.mara.id, serviceId: house.fullCut.id, date: '2026-06-22', time };
    const { body } = await house.ask('desk', 'POST', '/api/v1/appointments', input);
    return (body as { appointment: { id: string } }).appointment.id;
  };

  it('get no invitation, by themselves or in a run; the others do', async () => {
    house.clock.at = Date.parse('2026-06-20T08:00:00Z');
    const runs = house.app.get(Runs, { strict: false });
    expect(await runs.wouldReach(house.salon.id, { until: '2026-06-20' })).toBe(1);
    await house.app.get(Upkeep, { strict: false }).run();
    expect(await deliver()).toMatchObject({ sent: 1, unneeded: 0 });
    expect(await told(asked)).toEqual(['shape-due sent']);
    expect(await told(left)).toEqual([]);
  });

  it('do not get one either that was owed before they were left out', async () => {
    const window = await house.reader.manager.findOneByOrFail(ShapeWindow, { clientId: left });
    const shape = { ...window, channel: 'mail' as const, address: 'c@example.org' };
    const now = house.clock.now();
    await house.units.run((manager) => oweRows(manager, [shapeRow(house.salon.id, shape, now)], now));
    expect(await deliver()).toMatchObject({ sent: 0, unneeded: 1 });
    expect(await told(left)).toEqual(['shape-due withdrawn left-out']);
  });

  it('do get what is about their appointments, but no invitation after a no-show', async () => {
    const missed = [await book(left, '10:00'), await book(asked, '11:00')];
    expect(await deliver()).toMatchObject({ sent: 2 });
    house.clock.at = Date.parse('2026-06-21T09:30:00Z');
    expect(await deliver()).toMatchObject({ sent: 2 });
    house.clock.at = Date.parse('2026-06-22T10:30:00Z');
    for (const id of missed) {
      expect((await house.ask('desk', 'POST', `/api/v1/appointments/${id}/no-show`, {})).status).toBe(200);
    }
    house.clock.at = Date.parse('2026-06-22T14:00:00Z');
    expect(await deliver()).toMatchObject({ sent: 1 });
    const both = ['appointment-confirmation sent', 'appointment-reminder sent'];
    expect(await told(left)).toEqual(['shape-due withdrawn left-out', ...both]);
    expect(await told(asked)).toEqual(['shape-due sent', ...both, 'no-show sent']);
  });

  it('are a group of their own in the figures', async () => {
    house.clock.at = Date.parse('2026-07-20T08:00:00Z');
    const figures: Figure[] = [];
    for (const part of FIGURE_PARTS) {
      const { body } = await house.ask('owner', 'GET', `/api/v1/reports/${part}?since=2026-01-01`);
      figures.push(...(body['figures'] as Figure[]));
    }
    const nudges = figures.find(({ key }) => key === 'nudges');
    expect(nudges?.rows.map(({ cells }) => cells)).toMatchObject([
      { group: 'May be nudged', of: 1 },
      { group: 'Left without nudges', of: 1 },
    ]);
  });
});
