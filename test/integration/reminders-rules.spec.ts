import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Appointment } from '../../src/book/index.js';
import { type Channel, Client, Consent, type Purpose } from '../../src/clients/index.js';
import { CutFormula } from '../../src/cuts/index.js';
import { Audit, SYSTEM } from '../../src/identity/index.js';
import { ShapeWindow } from '../../src/rebooking/index.js';
import { Invitations, Message, MessageRules } from '../../src/reminders/index.js';
import { NudgeExclusions } from '../../src/reminders/nudge-exclusions.js';
import { oweAfterNoShow, oweForBooking } from '../../src/reminders/owing.js';
import { DeliveryError } from '../../src/reminders/sender.js';
import { SkinTest } from '../../src/skin-tests/index.js';
import { newId, type Settings } from '../../src/store/index.js';
import {
  appointmentAt,
  bookAt,
  KeepingSender,
  messagesOf,
  openDesk,
  partsOf,
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

const all = () => desk.reader.manager.find(Message, { order: { id: 'ASC' } });
const upkeep = () => partsOf(desk, sender).upkeep.run();
const deliver = () => partsOf(desk, sender).dispatcher.deliverDue();

async function answer(
  purpose: Purpose,
  given: boolean,
  channel: Channel = 'mail',
  clientId = desk.client.id,
): Promise<void> {
  const asked = { clientId, channel, purpose, given, source: 'desk', recordedById: null };
  await desk.units.run((manager) => manager.insert(Consent, { id: newId(), at: desk.clock.now(), ...asked }));
}

async function rule(changes: Partial<MessageRules>): Promise<void> {
  await desk.units.run((manager) =>
    manager.insert(MessageRules, {
      version: 1,
      reminderHours: [48],
      ...changes,
      id: newId(),
      salonId: desk.salon.id,
    }),
  );
}

/** A shape that was cut and is due in the given days of June 2026; says which formula. */
async function shape(earliest: number, latest: number, clientId = desk.client.id): Promise<string> {
  const formulaId = newId();
  await desk.units.run(async (manager) => {
    await manager.insert(CutFormula, {
      id: formulaId,
      salonId: desk.salon.id,
      clientId,
      name: 'Short back',
      cutOn: '2026-04-20',
    } as CutFormula);
    await manager.delete(ShapeWindow, { clientId });
    const on = (day: number) => `2026-06-${String(day).padStart(2, '0')}`;
    await manager.insert(ShapeWindow, {
      id: newId(),
      salonId: desk.salon.id,
      clientId,
      formulaId,
      earliestOn: on(earliest),
      dueOn: on(earliest + 3),
      latestOn: on(latest),
      firstZone: 'nape',
      reason: 'the nape has grown by 15 mm',
      computedAt: desk.clock.now(),
      packed: '',
      cutOn: '2026-04-20',
    });
  });
  return formulaId;
}

describe('an invitation because a shape is due', () => {
  it('goes once to a client who said yes, when the window opens', async () => {
    await answer('rebooking', true);
    await shape(3, 20);
    await upkeep();
    expect(await all()).toEqual([]);
    desk.clock.at = at('2026-06-03T10:00:00Z');
    await upkeep();
    await upkeep();
    expect(await all()).toMatchObject([{ kind: 'shape-due', state: 'owed', address: 'ottilie@example.org' }]);
    expect(await deliver()).toMatchObject({ sent: 1 });
    expect(sender.kept[0]?.subject).toMatch(/^Your shape is due around Saturday,? 6 June 2026$/);
    // The window is computed anew for the same shape; a new cut is another matter.
    desk.clock.at = at('2026-06-10T10:00:00Z');
    await upkeep();
    expect(await all()).toHaveLength(1);
    await shape(9, 25);
    await upkeep();
    expect(await all()).toHaveLength(2);
  });

  it('is not owed without a yes, nor after the newest answer was no', async () => {
    await shape(1, 20);
    await upkeep();
    await answer('appointment', true);
    await answer('rebooking', true, 'text');
    await upkeep();
    expect(await all()).toEqual([]);
    await answer('rebooking', true);
    desk.clock.at += 1_000;
    await answer('rebooking', false);
    await upkeep();
    expect(await all()).toEqual([]);
  });

  it('is not owed to one who has an appointment ahead, whose window closed weeks ago or who has no address', async () => {
    await answer('rebooking', true);
    await shape(1, 20);
    const booked = await bookAt(desk, '2026-06-18T13:30:00Z');
    await upkeep();
    const kinds = async () => (await all()).map(({ kind }) => kind);
    expect(await kinds()).not.toContain('shape-due');
    await desk.units.run((manager) => manager.delete(Appointment, { id: booked.id }));
    await desk.units.run((manager) => manager.update(Client, { id: desk.client.id }, { email: null }));
    await upkeep();
    expect(await kinds()).toEqual([]);
    await desk.units.run((manager) =>
      manager.update(Client, { id: desk.client.id }, { email: 'ottilie@example.org' }),
    );
    desk.clock.at = at('2026-07-19T10:00:00Z');
    await upkeep();
    expect(await kinds()).toEqual([]);
    desk.clock.at = at('2026-07-18T10:00:00Z');
    await upkeep();
    expect(await kinds()).toEqual(['shape-due']);
  });

  it('is called back when she booked, said no, or was cut anew before it went', async () => {
    await answer('rebooking', true);
    await shape(1, 20);
    await upkeep();
    await bookAt(desk, '2026-06-18T13:30:00Z');
    expect(await deliver()).toMatchObject({ sent: 1, unneeded: 1 });
    expect((await all())[0]).toMatchObject({ kind: 'shape-due', state: 'withdrawn', reason: 'booked' });
  });

  it('ends at once with a no in between', async () => {
    await answer('rebooking', true);
    await shape(1, 20);
    await upkeep();
    desk.clock.at += 1;
    await answer('rebooking', false);
    expect(await deliver()).toMatchObject({ sent: 0, unneeded: 1 });
    expect(await all()).toMatchObject([{ state: 'unreachable', reason: 'refused' }]);
  });

  it('comes at most so often in so many weeks', async () => {
    await rule({ nudgeMost: 1, nudgeWeeks: 4 });
    await answer('rebooking', true);
    await shape(1, 20);
    await upkeep();
    await deliver();
    expect(sender.kept).toHaveLength(1);
    // Cut anew and due again sooner than that.
    await shape(15, 30);
    desk.clock.at = at('2026-06-20T10:00:00Z');
    await upkeep();
    expect(await all()).toHaveLength(1);
    desk.clock.at = at('2026-06-29T08:00:01Z');
    await upkeep();
    await deliver();
    expect(sender.kept).toHaveLength(2);
  });

  it('is not sent too often even when it was owed before the other went', async () => {
    await answer('rebooking', true);
    const first = await shape(1, 20);
    await upkeep();
    await rule({ nudgeMost: 1, nudgeWeeks: 4 });
    await desk.units.run(async (manager) => {
      const message = await manager.findOneByOrFail(Message, { aboutId: first });
      await manager.insert(Message, { ...message, id: newId(), dedupeKey: 'shape-due:another' });
    });
    expect(await deliver()).toMatchObject({ sent: 1, unneeded: 1 });
    expect((await all()).map(({ state, reason }) => [state, reason])).toEqual([
      ['sent', null],
      ['withdrawn', 'enough'],
    ]);
  });

  it('can be switched off by the salon', async () => {
    await rule({ nudgeMost: 0 });
    await answer('rebooking', true);
    await shape(1, 20);
    await upkeep();
    expect(await all()).toEqual([]);
  });
});

describe('an invitation by a press at the desk', () => {
  const settings = { textGateway: undefined } as unknown as Settings;
  const invite = (exclusions = new NudgeExclusions()) =>
    new Invitations(desk.units, desk.clock, new Audit(desk.clock), exclusions, settings).invite(
      desk.client.id,
      SYSTEM,
    );
  const refusal = (code: string) => expect.objectContaining({ code: `INVITE.${code}` });

  it('goes to whom the run would write to, and again for the same shape as often as the salon allows', async () => {
    await rule({ nudgeMost: 2, nudgeWeeks: 4 });
    await answer('rebooking', true);
    await shape(1, 20);
    expect(await invite()).toEqual({ channel: 'mail', dueAt: desk.clock.now() });
    await expect(invite()).rejects.toEqual(refusal('UNDER_WAY'));
    expect(await deliver()).toMatchObject({ sent: 1 });
    desk.clock.at += 24 * HOUR_MS;
    await invite();
    expect(await deliver()).toMatchObject({ sent: 1 });
    // Two in four weeks from 1 June: the next from the day after the 29th, which is four weeks from the first.
    await expect(invite()).rejects.toMatchObject({
      code: 'INVITE.ENOUGH',
      message: expect.stringMatching(/from Tue,? 30 June 2026/),
    });
    desk.clock.at = at('2026-06-30T10:00:00Z');
    expect(await invite()).toMatchObject({ channel: 'mail' });
    expect((await all()).map(({ kind }) => kind)).toEqual(['shape-due', 'shape-due', 'shape-due']);
  });

  it('is refused, in words, without a shape, a yes or a reason, and to those left out', async () => {
    await expect(invite()).rejects.toEqual(refusal('NO_SHAPE'));
    await shape(1, 20);
    await expect(invite()).rejects.toEqual(refusal('REFUSED'));
    await answer('rebooking', true);
    const leftOut = new NudgeExclusions();
    leftOut.register({ sql: async () => undefined, leavesOut: async () => true });
    await expect(invite(leftOut)).rejects.toEqual(refusal('LEFT_OUT'));
    await bookAt(desk, '2026-06-18T13:30:00Z');
    await expect(invite()).rejects.toEqual(refusal('BOOKED'));
    expect((await all()).filter(({ kind }) => kind === 'shape-due')).toEqual([]);
  });

  it('waits for the morning', async () => {
    await answer('rebooking', true);
    await shape(1, 20);
    // Half past nine in the evening in London; the quiet hours end at nine.
    desk.clock.at = at('2026-06-01T20:30:00Z');
    expect(await invite()).toEqual({ channel: 'mail', dueAt: at('2026-06-02T08:00:00Z') });
  });
});

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
