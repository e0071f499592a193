import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import type { EntityManager } from 'typeorm';
import { MIGRATIONS } from '../../migrations/index.js';
import { ENTITIES } from '../../src/entities.js';
import { USUAL_POLICY } from '../../src/reminders/index.js';
import { DeliveryError } from '../../src/reminders/sender.js';
import { UnitOfWork, writerSource } from '../../src/store/index.js';
import {
  bookAt,
  dispatcherOf,
  KeepingSender,
  messagesOf,
  openDesk,
  partsOf,
  type TestDesk,
} from '../factories/reminders.js';

/** What is left of a lease for judging and writing. */
const PREPARED_WITHIN_MS =
  USUAL_POLICY.leaseMs -
  USUAL_POLICY.sendWithinMs -
  USUAL_POLICY.answerWithinMs -
  USUAL_POLICY.recordWithinMs;
const at = (iso: string) => Date.parse(iso);

let desk: TestDesk;
beforeEach(async () => {
  desk = await openDesk();
});
afterEach(() => desk.close());

describe('several dispatchers', () => {
  async function expectEachOnce(dispatchers: ReturnType<typeof dispatcherOf>[], sender: KeepingSender) {
    for (let day = 10; day < 22; day += 1) await bookAt(desk, `2026-06-${day}T13:30:00Z`);
    const tallies = await Promise.all(dispatchers.map((dispatcher) => dispatcher.deliverDue()));
    expect(tallies.reduce((sum, { sent }) => sum + sent, 0)).toBe(12);
    expect(sender.kept).toHaveLength(12);
    expect(new Set(sender.kept.map(({ messageId }) => messageId)).size).toBe(12);
    expect(await desk.messages.counts(desk.salon.id)).toMatchObject({ sent: 12, owed: 12, failed: 0 });
  }

  it('in one process send each message once', async () => {
    const sender = new KeepingSender();
    const three = [1, 2, 3].map(() => dispatcherOf(desk, sender));
    await expectEachOnce(three, sender);
  });

  it('with connections of their own, as in two processes, send each message once', async () => {
    const other = await writerSource(desk.database, ENTITIES, MIGRATIONS).initialize();
    try {
      const sender = new KeepingSender();
      const two = [dispatcherOf(desk, sender), dispatcherOf(desk, sender, {}, new UnitOfWork(other))];
      await expectEachOnce(two, sender);
    } finally {
      await other.destroy();
    }
  });

  it('send at most as many at a time as the policy says, and no more than asked', async () => {
    for (let day = 10; day < 20; day += 1) await bookAt(desk, `2026-06-${day}T13:30:00Z`);
    let inHand = 0;
    let most = 0;
    const sender = new KeepingSender(async () => {
      inHand += 1;
      most = Math.max(most, inHand);
      await new Promise((later) => setTimeout(later, 5));
      inHand -= 1;
    });
    const dispatcher = dispatcherOf(desk, sender, { atOnce: 3 });
    expect(await dispatcher.deliverDue(7)).toMatchObject({ sent: 7 });
    expect(most).toBe(3);
  });

  it('are not built with a lease that a sending could outlast', () => {
    expect(() => dispatcherOf(desk, new KeepingSender(), { leaseMs: 1_000, sendWithinMs: 1_000 })).toThrow(
      /lease/,
    );
  });
});

describe('a dispatcher that dies', () => {
  /** Takes the message and is never heard of again, as after a kill: nothing is recorded, nothing thrown. */
  function dieWith(sender: KeepingSender): void {
    dispatcherOf(desk, sender)
      .deliverDue(1)
      .catch(() => undefined);
  }

  it('between lease and sending delays the message until its lease runs out', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    await new Promise<void>((begun) => {
      dieWith(
        new KeepingSender(() => {
          begun();
          return new Promise(() => undefined);
        }),
      );
    });
    const sender = new KeepingSender();
    const heir = dispatcherOf(desk, sender);
    desk.clock.at += USUAL_POLICY.leaseMs - 1;
    expect(await heir.deliverDue()).toMatchObject({ sent: 0 });
    desk.clock.at += 1;
    expect(await heir.deliverDue()).toMatchObject({ sent: 1 });
    expect((await messagesOf(desk, id))[0]).toMatchObject({ state: 'sent', attempts: 2 });
  });

  it('after the server took the mail leaves a double that its Message-ID gives away', async () => {
    await bookAt(desk, '2026-06-18T13:30:00Z');
    const first = await new Promise<string>((accepted) => {
      dieWith(
        new KeepingSender((mail) => {
          accepted(mail.messageId);
          return new Promise(() => undefined);
        }),
      );
    });
    desk.clock.at += USUAL_POLICY.leaseMs;
    const sender = new KeepingSender();
    await dispatcherOf(desk, sender).deliverDue();
    expect(sender.kept.map(({ messageId }) => messageId)).toEqual([first]);
  });

  it('almost, being too slow to send within its lease, lets go of the message instead', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    const sender = new KeepingSender();
    const late = partsOf(desk, sender, {
      judging: () => {
        desk.clock.at += PREPARED_WITHIN_MS + 1;
      },
    });
    expect(await late.dispatcher.deliverDue(1)).toMatchObject({ sent: 0, waiting: 1 });
    expect(sender.kept).toEqual([]);
    expect((await messagesOf(desk, id))[0]).toMatchObject({ state: 'owed', attempts: 0, leaseId: null });
    expect(await dispatcherOf(desk, sender).deliverDue()).toMatchObject({ sent: 1 });
  });

  /*
   * The longest that everything may take: judging, handing over, the answer, the wait for a busy disk. With a lease that
   * covered no more than the sending, another took the message up between "250" and the record.
   */
  it('almost, being slow at every step, is still alone with its message', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    const { sendWithinMs, answerWithinMs, recordWithinMs } = USUAL_POLICY;
    const sender = new KeepingSender();
    const heir = dispatcherOf(desk, sender);
    const others: number[] = [];
    const wait = async (ms: number) => {
      desk.clock.at += ms;
      others.push((await heir.deliverDue(1)).sent);
    };
    class SlowUnits extends UnitOfWork {
      sent = false;
      override async run<T>(work: (manager: EntityManager) => Promise<T>): Promise<T> {
        if (this.sent) await wait(recordWithinMs - 1);
        return await desk.units.run(work);
      }
    }
    const units = new SlowUnits(desk.sources.writer);
    const own = new KeepingSender(async () => {
      await wait(sendWithinMs);
      await wait(answerWithinMs);
      units.sent = true;
    });
    const judging = () => {
      desk.clock.at += PREPARED_WITHIN_MS;
    };
    const slow = partsOf(desk, own, { units, judging });
    expect(await slow.dispatcher.deliverDue(1)).toMatchObject({ sent: 1 });
    expect(others).toEqual([0, 0, 0]);
    expect([own.kept.length, sender.kept.length]).toEqual([1, 0]);
    expect((await messagesOf(desk, id))[0]).toMatchObject({ state: 'sent', attempts: 1 });
  });

  it('not, but cannot write down at first what it sent, tries that again', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    let busy = 0;
    class BusyUnits extends UnitOfWork {
      override async run<T>(work: (manager: EntityManager) => Promise<T>): Promise<T> {
        busy -= 1;
        if (busy >= 0) throw new Error('SQLITE_BUSY: database is locked');
        return await desk.units.run(work);
      }
    }
    const own = new KeepingSender(async () => {
      busy = 2;
    });
    const units = new BusyUnits(desk.sources.writer);
    expect(await dispatcherOf(desk, own, {}, units).deliverDue(1)).toMatchObject({ sent: 1 });
    expect((await messagesOf(desk, id))[0]).toMatchObject({ state: 'sent', attempts: 1 });
  });

  it('every time is found out after eight attempts', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    for (let attempt = 1; attempt <= 8; attempt += 1) {
      await new Promise<void>((begun) => {
        dieWith(
          new KeepingSender(() => {
            begun();
            return new Promise(() => undefined);
          }),
        );
      });
      desk.clock.at += USUAL_POLICY.leaseMs;
    }
    const sender = new KeepingSender();
    expect(await dispatcherOf(desk, sender).deliverDue()).toMatchObject({ sent: 0, failed: 1 });
    expect(sender.kept).toEqual([]);
    expect((await messagesOf(desk, id))[0]).toMatchObject({
      state: 'failed',
      lastError: 'Every attempt was cut off before its outcome was known.',
    });
  });

  it('slowly finds a message that another has sent meanwhile, and leaves it sent', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    let fail: (error: Error) => void = () => undefined;
    const slow = await new Promise<{ run: Promise<unknown> }>((begun) => {
      const run = dispatcherOf(
        desk,
        new KeepingSender(
          () =>
            new Promise((_, reject) => {
              fail = reject;
              begun({ run });
            }),
        ),
      ).deliverDue(1);
    });
    desk.clock.at += USUAL_POLICY.leaseMs;
    await dispatcherOf(desk, new KeepingSender()).deliverDue();
    fail(new DeliveryError('too slow', true));
    expect(await slow.run).toMatchObject({ failed: 0, unneeded: 1 });
    expect((await messagesOf(desk, id))[0]).toMatchObject({ state: 'sent', lastError: null });
  });
});

describe('lists of messages', () => {
  it('show the newest first, by pages and by state, without bodies', async () => {
    for (let day = 10; day < 13; day += 1) await bookAt(desk, `2026-06-${day}T13:30:00Z`);
    await dispatcherOf(desk, new KeepingSender()).deliverDue(2);
    const salonId = desk.salon.id;
    const all = await desk.messages.list({ salonId });
    expect(all).toHaveLength(6);
    expect(all.map(({ id }) => id)).toEqual(
      all
        .map(({ id }) => id)
        .toSorted()
        .reverse(),
    );
    expect(all[0]).toMatchObject({ clientName: 'Ottilie Farnsby', startsAt: at('2026-06-12T13:30:00Z') });
    expect(all[0]).not.toHaveProperty('body');

    const first = await desk.messages.list({ salonId, limit: '4' });
    const rest = await desk.messages.list({ salonId, limit: 4, before: first.at(-1)!.id });
    expect([...first, ...rest]).toEqual(all);

    const sent = await desk.messages.list({ salonId, state: 'sent' });
    expect(sent).toHaveLength(2);
    const { body } = await desk.messages.get(sent[0]!.id);
    expect(body).toContain('Your appointment is booked.');
    expect((await desk.messages.ofClient(desk.client.id)).map(({ id }) => id)).toEqual(
      all.map(({ id }) => id),
    );
    expect(await desk.messages.counts(salonId)).toEqual({
      owed: 4,
      sent: 2,
      failed: 0,
      withdrawn: 0,
      unreachable: 0,
    });
  });

  it.each([
    [{ limit: 0 }, 'limit'],
    [{ limit: 'many' }, 'limit'],
    [{ state: 'lost' }, 'state'],
    [{ before: '1 OR 1=1' }, 'before'],
    [{ salonId: 7 }, 'salonId'],
  ])('refuse %j naming the field', async (wrong, field) => {
    await expect(desk.messages.list({ salonId: desk.salon.id, ...wrong })).rejects.toMatchObject({
      code: 'INPUT.INVALID',
      fields: [{ field }],
    });
  });

  it('know no message that is not there', async () => {
    await expect(desk.messages.get('nonesuch')).rejects.toMatchObject({ code: 'MESSAGE.NOT_FOUND' });
  });
});
