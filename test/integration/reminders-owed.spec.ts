import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Appointment } from '../../src/book/index.js';
import { Client, Consent } from '../../src/clients/index.js';
import { Message } from '../../src/reminders/index.js';
import { oweForBooking, oweForCancellation, oweForMove } from '../../src/reminders/owing.js';
import { newId } from '../../src/store/index.js';
import {
  appointmentAt,
  bookAt,
  dispatcherOf,
  KeepingSender,
  messagesOf,
  openDesk,
  partsOf,
  type TestDesk,
} from '../factories/reminders.js';

const at = (iso: string) => Date.parse(iso);

let desk: TestDesk;
beforeEach(async () => {
  desk = await openDesk();
});
afterEach(() => desk.close());

async function answer(given: boolean): Promise<void> {
  await desk.units.run((manager) =>
    manager.insert(Consent, {
      id: newId(),
      clientId: desk.client.id,
      channel: 'mail',
      purpose: 'appointment',
      given,
      at: desk.clock.now(),
      source: 'desk',
      recordedById: null,
    }),
  );
}

async function setEmail(email: string | null): Promise<void> {
  await desk.units.run((manager) => manager.update(Client, { id: desk.client.id }, { email }));
}

describe('a booking', () => {
  it('owes a confirmation at once and a reminder 48 hours before', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    expect(await messagesOf(desk, id)).toMatchObject([
      {
        kind: 'appointment-confirmation',
        state: 'owed',
        dueAt: desk.clock.now(),
        address: 'ottilie@example.org',
      },
      { kind: 'appointment-reminder', state: 'owed', dueAt: at('2026-06-16T13:30:00Z'), channel: 'mail' },
    ]);
  });

  it('that is rolled back leaves no message', async () => {
    const appointment = appointmentAt(desk, '2026-06-18T13:30:00Z');
    const booking = desk.units.run(async (manager) => {
      await manager.insert(Appointment, appointment);
      await oweForBooking(manager, appointment, desk.clock.now());
      expect(await manager.countBy(Message, { appointmentId: appointment.id })).toBe(2);
      throw new Error('the chair was taken');
    });
    await expect(booking).rejects.toThrow('the chair was taken');
    expect(await desk.reader.manager.count(Message)).toBe(0);
  });

  it('owes each message once, however often it is asked to', async () => {
    const appointment = await bookAt(desk, '2026-06-18T13:30:00Z');
    await desk.units.run((manager) => oweForBooking(manager, appointment, desk.clock.now()));
    expect(await messagesOf(desk, appointment.id)).toHaveLength(2);
  });

  it('less than two hours ahead owes only the confirmation, one already begun nothing', async () => {
    const soon = await bookAt(desk, '2026-06-01T09:30:00Z');
    expect((await messagesOf(desk, soon.id)).map(({ kind }) => kind)).toEqual(['appointment-confirmation']);
    const begun = await bookAt(desk, '2026-06-01T08:00:00Z');
    expect(await messagesOf(desk, begun.id)).toEqual([]);
  });
});

describe('a moved appointment', () => {
  it('calls back what told the old time and owes the new one', async () => {
    const appointment = await bookAt(desk, '2026-06-18T13:30:00Z');
    const moved = Object.assign(appointment, {
      moves: 1,
      startsAt: at('2026-06-20T10:00:00Z'),
      endsAt: at('2026-06-20T10:45:00Z'),
    });
    await desk.units.run(async (manager) => {
      await manager.save(moved);
      await oweForMove(manager, moved, desk.clock.now());
    });
    expect(await messagesOf(desk, appointment.id)).toMatchObject([
      { kind: 'appointment-confirmation', state: 'withdrawn', reason: 'moved' },
      { kind: 'appointment-reminder', state: 'withdrawn', reason: 'moved' },
      { kind: 'appointment-change', state: 'owed', dueAt: desk.clock.now() },
      { kind: 'appointment-reminder', state: 'owed', dueAt: at('2026-06-18T10:00:00Z') },
    ]);
  });

  it('leaves alone what was sent', async () => {
    const appointment = await bookAt(desk, '2026-06-18T13:30:00Z');
    await dispatcherOf(desk, new KeepingSender()).deliverDue();
    const moved = Object.assign(appointment, { moves: 1, startsAt: at('2026-06-19T13:30:00Z') });
    await desk.units.run(async (manager) => {
      await manager.save(moved);
      await oweForMove(manager, moved, desk.clock.now());
    });
    expect((await messagesOf(desk, appointment.id)).map(({ kind, state }) => `${kind} ${state}`)).toEqual([
      'appointment-confirmation sent',
      'appointment-reminder withdrawn',
      'appointment-change owed',
      'appointment-reminder owed',
    ]);
  });
});

describe('a cancelled appointment', () => {
  it('calls back what it owed and owes a notice, which names the cancelled time', async () => {
    const appointment = await bookAt(desk, '2026-06-18T13:30:00Z');
    const cancelled = Object.assign(appointment, {
      state: 'cancelled' as const,
      cancelledAt: desk.clock.now(),
    });
    await desk.units.run(async (manager) => {
      await manager.save(cancelled);
      await oweForCancellation(manager, cancelled, desk.clock.now());
    });
    expect(await messagesOf(desk, appointment.id)).toMatchObject([
      { kind: 'appointment-confirmation', state: 'withdrawn', reason: 'cancelled' },
      { kind: 'appointment-reminder', state: 'withdrawn', reason: 'cancelled' },
      { kind: 'appointment-cancellation', state: 'owed' },
    ]);
    const sender = new KeepingSender();
    expect(await dispatcherOf(desk, sender).deliverDue()).toMatchObject({ sent: 1 });
    expect(sender.kept[0]?.text).toMatch(/cancelled:\s+When:\s+Thursday,? 18 June 2026, 14:30/);
  });

  it('owes nothing when its time is past', async () => {
    const appointment = await bookAt(desk, '2026-06-01T13:30:00Z');
    desk.clock.at = at('2026-06-01T14:00:00Z');
    await desk.units.run((manager) => oweForCancellation(manager, appointment, desk.clock.now()));
    expect((await messagesOf(desk, appointment.id)).map(({ state }) => state)).toEqual([
      'withdrawn',
      'withdrawn',
    ]);
  });
});

describe('a client without a mail address', () => {
  beforeEach(() => setEmail(null));

  it('is unreachable, which is neither owed nor failed', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    expect(await messagesOf(desk, id)).toMatchObject([
      { kind: 'appointment-confirmation', state: 'unreachable', reason: 'no-address', address: null },
      { kind: 'appointment-reminder', state: 'unreachable', reason: 'no-address', address: null },
    ]);
    expect(await desk.messages.counts(desk.salon.id)).toEqual({
      owed: 0,
      sent: 0,
      failed: 0,
      withdrawn: 0,
      unreachable: 2,
    });
    desk.clock.at = at('2026-06-17T12:00:00Z');
    const sender = new KeepingSender();
    await dispatcherOf(desk, sender).deliverDue();
    expect(sender.kept).toEqual([]);
  });

  it('is told after all once there is one, while the appointment is ahead', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    await bookAt(desk, '2026-06-01T12:00:00Z');
    desk.clock.at = at('2026-06-02T08:00:00Z');
    await setEmail('late@example.net');
    const sender = new KeepingSender();
    const { upkeep, dispatcher } = partsOf(desk, sender);
    await upkeep.run();
    await dispatcher.deliverDue();
    expect(sender.kept.map(({ to }) => to.address)).toEqual(['late@example.net']);
    expect((await messagesOf(desk, id)).map(({ state }) => state)).toEqual(['sent', 'owed']);
  });
});

describe('a client’s answer about messages', () => {
  it('counts when she is booked: the newest one', async () => {
    await answer(false);
    const refused = await bookAt(desk, '2026-06-18T13:30:00Z');
    expect(await messagesOf(desk, refused.id)).toMatchObject([
      { state: 'unreachable', reason: 'refused' },
      { state: 'unreachable', reason: 'refused' },
    ]);
    desk.clock.at += 60_000;
    await answer(true);
    const welcome = await bookAt(desk, '2026-06-19T13:30:00Z');
    expect((await messagesOf(desk, welcome.id)).map(({ state }) => state)).toEqual(['owed', 'owed']);
  });

  it('counts again when the message would go: a no in between stops it', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    await answer(false);
    const sender = new KeepingSender();
    expect(await dispatcherOf(desk, sender).deliverDue()).toMatchObject({ sent: 0, unneeded: 1 });
    expect(sender.kept).toEqual([]);
    expect((await messagesOf(desk, id))[0]).toMatchObject({ state: 'unreachable', reason: 'refused' });
  });

  it('a new address is used even for what was owed before', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    await setEmail('moved-house@example.net');
    const sender = new KeepingSender();
    await dispatcherOf(desk, sender).deliverDue();
    expect(sender.kept[0]?.to.address).toBe('moved-house@example.net');
    expect((await messagesOf(desk, id))[0]).toMatchObject({ address: 'moved-house@example.net' });
  });
});
