import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Appointment } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { Audit, SYSTEM } from '../../src/identity/index.js';
import { Invitations, Message } from '../../src/reminders/index.js';
import { NudgeExclusions } from '../../src/reminders/nudge-exclusions.js';
import { newId, type Settings } from '../../src/store/index.js';
import { askedOf } from '../factories/invitations.js';
import { bookAt, KeepingSender, openDesk, type TestDesk } from '../factories/reminders.js';

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
