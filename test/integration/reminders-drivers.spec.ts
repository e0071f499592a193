import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { Appointment } from '../../src/book/index.js';
import { AuditEntry, SYSTEM } from '../../src/identity/index.js';
import { DeliveryError } from '../../src/reminders/sender.js';
import { bookAt, KeepingSender, messagesOf, openDesk, type TestDesk } from '../factories/reminders.js';
import { DRIVERS, type Driver, openDriver } from '../factories/reminders-drivers.js';

const at = (iso: string) => Date.parse(iso);
const trouble = () => Promise.reject(new DeliveryError('451 busy', false));

describe.each(DRIVERS)('carried by the %s driver', (name) => {
  let driver: Driver;
  let desk: TestDesk;
  beforeAll(async () => {
    driver = await openDriver(name);
  });
  afterAll(() => driver.close());
  beforeEach(async () => {
    await driver.reset();
    desk = await openDesk();
  });
  afterEach(() => desk.close());

  it('messages go out once, however many carry them', async () => {
    for (let day = 10; day < 22; day += 1) await bookAt(desk, `2026-06-${day}T13:30:00Z`);
    const sender = new KeepingSender();
    const carriers = [1, 2, 3].map(() => driver.carrier(desk, sender));
    const tallies = await Promise.all(carriers.map((carrier) => carrier.deliverDue()));
    expect(tallies.reduce((sum, { sent }) => sum + sent, 0)).toBe(12);
    expect(new Set(sender.kept.map(({ messageId }) => messageId)).size).toBe(12);
    expect(sender.kept).toHaveLength(12);
    expect(await desk.messages.counts(desk.salon.id)).toMatchObject({ sent: 12, owed: 12, failed: 0 });
  });

  describe('a message that cannot be sent', () => {
    it('is tried eight times, later each time, then is the desk’s', async () => {
      const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
      const dispatcher = driver.carrier(desk, new KeepingSender(trouble));
      const waits: number[] = [];
      for (let attempt = 1; attempt < 8; attempt += 1) {
        expect(await dispatcher.deliverDue()).toMatchObject({ waiting: 1, failed: 0 });
        const [message] = await messagesOf(desk, id);
        expect(message).toMatchObject({ state: 'owed', attempts: attempt, lastError: '451 busy' });
        waits.push((message!.notBefore! - desk.clock.now()) / 60_000);
        desk.clock.at = message!.notBefore!;
      }
      expect(waits).toEqual([1, 3, 9, 27, 81, 240, 240]);
      expect(await dispatcher.deliverDue()).toMatchObject({ waiting: 0, failed: 1 });
      expect((await messagesOf(desk, id))[0]).toMatchObject({
        state: 'failed',
        attempts: 8,
        lastError: '451 busy',
      });
      expect(await dispatcher.deliverDue()).toMatchObject({ waiting: 0, failed: 0 });
    });

    it('can be tried again by the desk, which is on the audit trail', async () => {
      const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
      const refused = () => Promise.reject(new DeliveryError('550 no', true));
      await driver.carrier(desk, new KeepingSender(refused)).deliverDue();
      const [failed, owed] = await messagesOf(desk, id);
      await desk.messages.retry(failed!.id, SYSTEM);
      expect((await messagesOf(desk, id))[0]).toMatchObject({ state: 'owed', attempts: 0 });
      expect(await desk.reader.manager.countBy(AuditEntry, { action: 'message.retry' })).toBe(1);

      await expect(desk.messages.retry(owed!.id, SYSTEM)).rejects.toMatchObject({
        code: 'MESSAGE.NOT_FAILED',
      });
      await expect(desk.messages.retry('nonesuch', SYSTEM)).rejects.toMatchObject({
        code: 'MESSAGE.NOT_FOUND',
      });
    });

    it('is not tried again once the appointment has begun', async () => {
      const { id } = await bookAt(desk, '2026-06-01T13:30:00Z');
      const refused = () => Promise.reject(new DeliveryError('550 no', true));
      await driver.carrier(desk, new KeepingSender(refused)).deliverDue();
      desk.clock.at = at('2026-06-01T13:30:00Z');
      const [failed] = await messagesOf(desk, id);
      await expect(desk.messages.retry(failed!.id, SYSTEM)).rejects.toMatchObject({
        code: 'MESSAGE.TOO_LATE',
      });
      expect((await messagesOf(desk, id))[0]).toMatchObject({ state: 'failed', attempts: 1 });
    });
  });

  describe('a message overtaken by events', () => {
    it('fails visibly when the appointment began before it could go', async () => {
      const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
      await driver.carrier(desk, new KeepingSender(trouble)).deliverDue();
      desk.clock.at = at('2026-06-18T13:30:00Z');
      const sender = new KeepingSender();
      expect(await driver.carrier(desk, sender).deliverDue()).toMatchObject({ sent: 0, failed: 2 });
      expect(await messagesOf(desk, id)).toMatchObject([
        { state: 'failed', reason: 'too-late', lastError: expect.stringContaining('451 busy') },
        { state: 'failed', reason: 'too-late' },
      ]);
    });

    it('is dropped when the client has already come', async () => {
      const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
      await desk.units.run((manager) => manager.update(Appointment, { id }, { state: 'arrived' }));
      expect(await driver.carrier(desk, new KeepingSender()).deliverDue()).toMatchObject({
        sent: 0,
        unneeded: 1,
      });
      expect((await messagesOf(desk, id))[0]).toMatchObject({ state: 'withdrawn', reason: 'over' });
    });
  });
});
