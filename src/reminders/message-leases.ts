import { Injectable } from '@nestjs/common';
import { type EntityManager, In, IsNull, LessThanOrEqual } from 'typeorm';
import { Clock } from '../base/index.js';
import type { Channel } from '../clients/index.js';
import { newId, Reader, UnitOfWork } from '../store/index.js';
import { Message, type MessageReason } from './entities.js';
import { InBatches } from './in-batches.js';
import { isReachable, perhapsReachable, reviveIfReachable } from './owing.js';
import type { PrivatePaths } from './private-paths.js';
import { type Sending, type Sent, writeSent } from './write-sent.js';

/** A message in hand, with the path of the private link made for it where its kind has one. */
export type InHand = { readonly message: Message; readonly path?: string };

/** A message in hand, or why it is not: somebody else's or not yet due until an instant, or no longer owed. */
export type Taken = InHand | { readonly freeAt: number } | { readonly gone: true };

const RECORD_TRIES = 3;

type Change = (manager: EntityManager) => Promise<boolean>;

/**
 * Who has which message in hand, and what became of it: the dispatcher's hold on the store. Writes that come at
 * the same time share a transaction, because each costs a wait for the disk.
 */
@Injectable()
export class MessageLeases {
  private readonly changes: InBatches<Change, boolean>;
  private readonly sendings: InBatches<Sending, undefined>;
  private readonly takes: InBatches<{ id: string; leaseMs: number }, Taken>;

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly paths: Pick<PrivatePaths, 'issue'>,
    private readonly channels: readonly Channel[] = ['mail'],
  ) {
    this.changes = new InBatches(
      async (changes) =>
        await this.units.run(async (manager) => {
          const done: boolean[] = [];
          for (const change of changes) done.push(await change(manager));
          return done;
        }),
    );
    this.sendings = new InBatches(async (sendings) => {
      await this.units.run((manager) => writeSent(manager, sendings));
      return sendings.map(() => undefined);
    });
    this.takes = new InBatches((wanted) => this.takeAll(wanted));
  }

  /** Whether anything is due that nobody has in hand. */
  async anyDue(): Promise<boolean> {
    return (await this.dueIds(1)).length > 0;
  }

  /**
   * Takes up to `count` due messages in hand for `leaseMs`, counting the attempt. Fewer, or none, when another
   * dispatcher was quicker. The update repeats every condition, so that of two that saw the same message one gets it.
   */
  async take(count: number, leaseMs: number): Promise<InHand[]> {
    const ids = await this.dueIds(count);
    return ids.length === 0 ? [] : await this.lease(ids, leaseMs);
  }

  /** Takes this message in hand if it is due and free. */
  async takeOne(id: string, leaseMs: number): Promise<Taken> {
    return await this.takes.do({ id, leaseMs });
  }

  /**
   * A message that was accepted is sent, whatever happened to its row meanwhile: even if the lease ran out or the
   * message was called back.
   */
  async recordSent(message: Message, sent: Sent): Promise<void> {
    const sending = { ...sent, id: message.id, sentAt: this.clock.now() };
    for (let tries = 1; ; tries += 1) {
      try {
        await this.sendings.do(sending);
        return;
      } catch (error) {
        // Forgotten, it would go out again: a database that is busy is asked more than once.
        if (tries === RECORD_TRIES) throw error;
      }
    }
  }

  /** Lets go of the message until `waitMs` have passed. False when the lease had run out, as below. */
  async putBack(message: Message, lastError: string, waitMs: number): Promise<boolean> {
    return await this.settle(message, { lastError, notBefore: this.clock.now() + waitMs });
  }

  /** Lets go of a message whose hour has not come; that was no attempt. */
  async postpone(message: Message, until: number): Promise<boolean> {
    return await this.settle(message, { notBefore: until, attempts: message.attempts - 1 });
  }

  async recordFailed(message: Message, lastError: string, reason: MessageReason | null): Promise<boolean> {
    return await this.settle(message, { state: 'failed', lastError, reason, notBefore: null });
  }

  async recordUnneeded(
    message: Message,
    state: 'withdrawn' | 'unreachable',
    reason: MessageReason,
  ): Promise<void> {
    await this.settle(message, {
      state,
      reason,
      notBefore: null,
      ...(state === 'unreachable' && { address: null }),
    });
  }

  /** Owes what was unreachable and no longer is. Returns how many. */
  async revive(): Promise<number> {
    const candidates = await perhapsReachable(this.reader.manager, this.clock.now());
    let revived = 0;
    for (const message of candidates) {
      // Most stay unreachable; asking first spares them a transaction each time.
      if (!(await isReachable(this.reader.manager, message, this.channels))) continue;
      if (await this.units.run((manager) => reviveIfReachable(manager, message, this.channels))) revived += 1;
    }
    return revived;
  }

  /** Writes an outcome, unless the lease ran out and somebody else has the message in hand. Tells whether it did. */
  private async settle(message: Message, outcome: Partial<Message>): Promise<boolean> {
    return await this.changes.do(async (manager) => {
      const { affected } = await manager.update(
        Message,
        { id: message.id, state: 'owed', leaseId: message.leaseId! },
        { ...outcome, leaseId: null },
      );
      return affected !== 0;
    });
  }

  private async lease(ids: readonly string[], leaseMs: number): Promise<InHand[]> {
    const leaseId = newId();
    return await this.units.run(async (manager) => {
      // Asked only now: waiting for the writer must not eat into the lease.
      const now = this.clock.now();
      await manager.update(
        Message,
        free(now).map((condition) => ({ ...condition, id: In(ids) })),
        { leaseId, notBefore: now + leaseMs, attempts: () => 'attempts + 1' },
      );
      const messages = await manager.find(Message, {
        where: { id: In([...ids]), leaseId },
        order: { dueAt: 'ASC', id: 'ASC' },
      });
      const paths = await this.paths.issue(manager, messages);
      return messages.map((message): InHand => {
        const path = paths.get(message.id);
        return path === undefined ? { message } : { message, path };
      });
    });
  }

  private async takeAll(wanted: readonly { id: string; leaseMs: number }[]): Promise<Taken[]> {
    const ids = wanted.map(({ id }) => id);
    const taken = await this.lease(ids, Math.max(...wanted.map(({ leaseMs }) => leaseMs)));
    // Asked twice for one message, the first to ask has it.
    const inHand = new Map(taken.map((held) => [held.message.id, held]));
    const others = ids.filter((id) => !inHand.has(id));
    const left = new Map(
      others.length === 0
        ? []
        : (await this.reader.manager.findBy(Message, { id: In(others) })).map((row) => [row.id, row]),
    );
    return ids.map((id): Taken => {
      const held = inHand.get(id);
      if (held) {
        inHand.delete(id);
        left.set(id, held.message);
        return held;
      }
      const row = left.get(id);
      if (row?.state !== 'owed') return { gone: true };
      return { freeAt: Math.max(row.dueAt, row.notBefore ?? 0) };
    });
  }

  private async dueIds(count: number): Promise<string[]> {
    const rows = await this.reader.manager.find(Message, {
      select: { id: true },
      where: free(this.clock.now()),
      order: { dueAt: 'ASC', id: 'ASC' },
      take: count,
    });
    return rows.map(({ id }) => id);
  }
}

function free(now: number) {
  const due = { state: 'owed' as const, dueAt: LessThanOrEqual(now) };
  return [
    { ...due, notBefore: IsNull() },
    { ...due, notBefore: LessThanOrEqual(now) },
  ];
}
