import { Injectable } from '@nestjs/common';
import { In, IsNull, LessThanOrEqual, Not } from 'typeorm';
import { Clock } from '../base/index.js';
import { newId, Reader, UnitOfWork } from '../store/index.js';
import { Message, type MessageReason } from './entities.js';
import { perhapsReachable, reviveIfReachable } from './owing.js';

export type SentMail = {
  readonly address: string;
  readonly sentBy: string;
  readonly subject: string;
  readonly body: string;
};

/** Who has which message in hand, and what became of it: the dispatcher's hold on the store. */
@Injectable()
export class MessageLeases {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
  ) {}

  /** Whether anything is due that nobody has in hand. */
  async anyDue(): Promise<boolean> {
    return (await this.dueIds(1)).length > 0;
  }

  /**
   * Takes up to `count` due messages in hand for `leaseMs`, counting the attempt. Fewer, or none, when another
   * dispatcher was quicker. The update repeats every condition, so that of two that saw the same message one gets it.
   */
  async take(count: number, leaseMs: number): Promise<Message[]> {
    const ids = await this.dueIds(count);
    if (ids.length === 0) return [];
    const now = this.clock.now();
    const leaseId = newId();
    return await this.units.run(async (manager) => {
      await manager.update(
        Message,
        free(now).map((condition) => ({ ...condition, id: In(ids) })),
        { leaseId, notBefore: now + leaseMs, attempts: () => 'attempts + 1' },
      );
      return await manager.find(Message, { where: { leaseId }, order: { dueAt: 'ASC', id: 'ASC' } });
    });
  }

  /**
   * A mail that was accepted is sent, whatever happened to its row meanwhile: even if the lease ran out or the
   * message was called back.
   */
  async recordSent(message: Message, mail: SentMail): Promise<void> {
    await this.units.run((manager) =>
      manager.update(
        Message,
        { id: message.id, state: Not('sent') },
        {
          ...mail,
          state: 'sent',
          sentAt: this.clock.now(),
          reason: null,
          lastError: null,
          leaseId: null,
          notBefore: null,
        },
      ),
    );
  }

  /** Lets go of the message until `waitMs` have passed. False when the lease had run out, as below. */
  async putBack(message: Message, lastError: string, waitMs: number): Promise<boolean> {
    return await this.settle(message, { lastError, notBefore: this.clock.now() + waitMs });
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
      if (await this.units.run((manager) => reviveIfReachable(manager, message))) revived += 1;
    }
    return revived;
  }

  /** Writes an outcome, unless the lease ran out and somebody else has the message in hand. Tells whether it did. */
  private async settle(message: Message, outcome: Partial<Message>): Promise<boolean> {
    const { affected } = await this.units.run((manager) =>
      manager.update(
        Message,
        { id: message.id, state: 'owed', leaseId: message.leaseId! },
        { ...outcome, leaseId: null },
      ),
    );
    return affected !== 0;
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
