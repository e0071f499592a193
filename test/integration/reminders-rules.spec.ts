import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Appointment } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { oweAfterNoShow, oweForBooking } from '../../src/reminders/owing.js';
import { DeliveryError } from '../../src/reminders/sender.js';
import { SkinTest } from '../../src/skin-tests/index.js';
import { newId } from '../../src/store/index.js';
import { askedOf } from '../factories/invitations.js';
import {
  appointmentAt,
  bookAt,
  KeepingSender,
  messagesOf,
  openDesk,
  type TestDesk,
} from '../factories/reminders.js';

const at = (iso: string) => Date.parse(iso);
const HOUR_MS = 3_600_000;

let desk: TestDesk;
let sender: KeepingSender;
beforeEach(async () => {
  desk = await openDesk({ birthday: '1984-05-27' });
  sender = new KeepingSender();
});
afterEach(() => desk.close());

const { answer, rule, shape, all, upkeep, deliver } = askedOf(
  () => desk,
  () => sender,
);

describe('quiet hours', () => {
  it('hold an invitation until the morning by the salon’s clock, without counting an attempt', async () => {
    await answer('rebooking', true);
    await shape(1, 20);
    await upkeep();
    // Half past nine in the evening in London.
    desk.clock.at = at('2026-06-01T20:30:00Z');
    expect(await deliver()).toMatchObject({ sent: 0, waiting: 1 });
    const [held] = await all();
    expect(held).toMatchObject({ state: 'owed', attempts: 0, notBefore: at('2026-06-02T08:00:00Z') });
    desk.clock.at = at('2026-06-02T08:00:00Z');
    expect(await deliver()).toMatchObject({ sent: 1 });
  });

  it('are the salon’s own, and owe by day what comes due by night', async () => {
    await rule({ quietFrom: '18:00', quietUntil: '11:00' });
    await answer('rebooking', true);
    await shape(1, 20);
    desk.clock.at = at('2026-06-01T17:00:00Z');
    await upkeep();
    expect(await all()).toMatchObject([{ dueAt: at('2026-06-02T10:00:00Z') }]);
  });

  it('do not hold back what somebody has just brought about', async () => {
    desk.clock.at = at('2026-06-01T22:30:00Z');
    await bookAt(desk, '2026-06-18T13:30:00Z');
    expect(await deliver()).toMatchObject({ sent: 1 });
  });

  it('make a reminder that could not go before the night the desk’s, where the morning is too late', async () => {
    const { id } = await bookAt(desk, '2026-06-04T09:30:00Z');
    await deliver();
    // Due on the 2nd at 10:30 in London; the mail server is away all day and the next.
    desk.clock.at = at('2026-06-03T19:30:00Z');
    expect(await deliver()).toMatchObject({ failed: 1 });
    expect((await messagesOf(desk, id))[1]).toMatchObject({ state: 'failed', reason: 'too-late' });
  });
});

describe('reminders', () => {
  const dueTimes = async (appointment: Appointment) =>
    (await messagesOf(desk, appointment.id))
      .filter(({ kind }) => kind === 'appointment-reminder')
      .map(({ dueAt }) => new Date(dueAt).toISOString());

  it('are as many as the salon sets', async () => {
    await rule({ reminderHours: [168, 48, 3] });
    const appointment = await bookAt(desk, '2026-06-18T13:30:00Z');
    expect(await dueTimes(appointment)).toEqual([
      '2026-06-11T13:30:00.000Z',
      '2026-06-16T13:30:00.000Z',
      '2026-06-18T10:30:00.000Z',
    ]);
  });

  it('of those whose time is past when it is booked only the last is owed, at once', async () => {
    await rule({ reminderHours: [168, 48, 3] });
    const appointment = await bookAt(desk, '2026-06-02T13:30:00Z');
    expect(await dueTimes(appointment)).toEqual(['2026-06-01T08:00:00.000Z', '2026-06-02T10:30:00.000Z']);
  });

  it('are none where the salon wants none', async () => {
    await rule({ reminderHours: [] });
    expect(await dueTimes(await bookAt(desk, '2026-06-18T13:30:00Z'))).toEqual([]);
  });
});

describe('after a no-show', () => {
  async function missed(): Promise<Appointment> {
    const appointment = appointmentAt(desk, '2026-06-01T13:30:00Z', { state: 'no-show' });
    desk.clock.at = at('2026-06-01T14:15:00Z');
    await desk.units.run(async (manager) => {
      await manager.insert(Appointment, appointment);
      await oweAfterNoShow(manager, appointment, desk.clock.now());
    });
    return appointment;
  }

  it('an invitation goes two hours later, to one who said yes', async () => {
    await missed();
    expect(await all()).toEqual([]);
    await answer('rebooking', true);
    const appointment = await missed();
    expect(await messagesOf(desk, appointment.id)).toMatchObject([
      { kind: 'no-show', dueAt: at('2026-06-01T16:15:00Z') },
    ]);
    desk.clock.at = at('2026-06-01T16:15:00Z');
    expect(await deliver()).toMatchObject({ sent: 1 });
    expect(sender.kept[0]?.subject).toBe('We missed you at Wren & Tallow');
    expect(sender.kept[0]?.calendar).toBeUndefined();
  });

  it('nothing goes when she came after all', async () => {
    await answer('rebooking', true);
    const { id } = await missed();
    await desk.units.run((manager) => manager.update(Appointment, { id }, { state: 'arrived' }));
    desk.clock.at = at('2026-06-01T16:15:00Z');
    expect(await deliver()).toMatchObject({ sent: 0, unneeded: 1 });
  });
});

describe('skin tests', () => {
  async function test(appliedAt: string, changes: Partial<SkinTest> = {}): Promise<string> {
    const id = newId();
    await desk.units.run((manager) =>
      manager.insert(SkinTest, {
        id,
        version: 1,
        clientId: desk.client.id,
        productLine: 'Fernlight Cream 6',
        place: 'behind the left ear',
        appliedAt: at(appliedAt),
        ...changes,
      }),
    );
    return id;
  }
  const clear = (appliedAt: string) => ({
    result: 'clear' as const,
    readAt: at(appliedAt) + 49 * HOUR_MS,
    readingRecordedAt: at(appliedAt) + 49 * HOUR_MS,
  });
  async function colourAt(startsAt: string): Promise<Appointment> {
    const appointment = appointmentAt(desk, startsAt, { serviceId: desk.colour.id });
    await desk.units.run((manager) => manager.insert(Appointment, appointment));
    return appointment;
  }

  it('are to be read when their 48 hours are up, by day', async () => {
    const id = await test('2026-05-30T19:30:00Z');
    await upkeep();
    await upkeep();
    // 48 hours are up at half past eight in the evening.
    expect(await all()).toMatchObject([
      { kind: 'skin-test-reading', aboutId: id, dueAt: at('2026-06-02T08:00:00Z'), state: 'owed' },
    ]);
    desk.clock.at = at('2026-06-02T08:00:00Z');
    expect(await deliver()).toMatchObject({ sent: 1 });
    expect(sender.kept[0]?.text).toMatch(/can be read from Monday,? 1 June 2026, 20:30/);
    expect(sender.kept[0]?.text).not.toMatch(/Fernlight|\bsafe\b/i);
  });

  it('that were read meanwhile, or reacted, need no message', async () => {
    const id = await test('2026-05-31T07:30:00Z');
    await upkeep();
    await desk.units.run((manager) =>
      manager.update(SkinTest, { id }, { result: 'reacted', readAt: desk.clock.now() }),
    );
    desk.clock.at = at('2026-06-02T10:00:00Z');
    expect(await deliver()).toMatchObject({ sent: 0, unneeded: 1 });
  });

  it('that a booked colour lacks are written about in time for the 48 hours', async () => {
    const appointment = await colourAt('2026-06-12T13:30:00Z');
    await upkeep();
    expect(await all()).toEqual([]);
    desk.clock.at = at('2026-06-06T09:00:00Z');
    await upkeep();
    await upkeep();
    expect(await messagesOf(desk, appointment.id)).toMatchObject([{ kind: 'skin-test-needed' }]);
    expect(await deliver()).toMatchObject({ sent: 1 });
    // Two days of 24 hours before, no matter what the wall clock does.
    expect(sender.kept[0]?.text).toMatch(/by Wednesday,? 10 June 2026, 14:30\./);
  });

  it.each([
    ['one that will count', '2026-05-20T09:00:00Z', 'clear'],
    ['one that waits to be read', '2026-06-05T09:00:00Z', 'unread'],
    ['one that reacted, after which people must talk', '2026-05-20T09:00:00Z', 'reacted'],
  ])('are not asked for with %s', async (_, appliedAt, result) => {
    await test(appliedAt, result === 'unread' ? {} : { ...clear(appliedAt), result: result as 'clear' });
    const appointment = await colourAt('2026-06-12T13:30:00Z');
    desk.clock.at = at('2026-06-06T09:00:00Z');
    await upkeep();
    expect(await messagesOf(desk, appointment.id)).toEqual([]);
  });

  it('are asked for where the old one lapses before the day', async () => {
    // The salon lets 180 days count: through 10 June.
    await test('2025-12-12T09:00:00Z', clear('2025-12-12T09:00:00Z'));
    const appointment = await colourAt('2026-06-12T13:30:00Z');
    desk.clock.at = at('2026-06-06T09:00:00Z');
    await upkeep();
    expect(await messagesOf(desk, appointment.id)).toMatchObject([{ kind: 'skin-test-needed' }]);
  });
});

describe('the client’s own language', () => {
  it('is written in where there are words in it, else the salon’s', async () => {
    await desk.units.run((manager) => manager.update(Client, { id: desk.client.id }, { language: 'de' }));
    const appointment = appointmentAt(desk, '2026-06-18T13:30:00Z');
    await desk.units.run(async (manager) => {
      await manager.insert(Appointment, appointment);
      await oweForBooking(manager, appointment, desk.clock.now());
    });
    await deliver();
    expect(sender.kept[0]?.language).toBe('en');
    expect((await all())[0]).toMatchObject({
      language: 'en',
      template: expect.stringMatching(/^file:[0-9a-f]{12}$/),
    });
  });
});

describe('trouble with one message', () => {
  it('is written down with it and with no other of its batch', async () => {
    await bookAt(desk, '2026-06-18T13:30:00Z');
    await bookAt(desk, '2026-06-19T13:30:00Z');
    let first = true;
    sender = new KeepingSender(async () => {
      if (first) {
        first = false;
        throw new DeliveryError('452 mailbox full', false);
      }
    });
    expect(await deliver()).toMatchObject({ sent: 1, waiting: 1 });
    expect((await all()).filter(({ lastError }) => lastError !== null)).toHaveLength(1);
  });
});
