import { Injectable } from '@nestjs/common';
import { Clock } from '../base/index.js';
import type { Channel } from '../clients/index.js';
import { InBatches, Leases, Reader, type Taken, UnitOfWork } from '../store/index.js';
import { Message, type MessageReason } from './entities.js';
import type { MessageEffects } from './message-effects.js';
import { isReachable, perhapsReachable, reviveIfReachable } from './owing.js';
import type { PrivatePaths } from './private-paths.js';
import { type Sending, type Sent, writeSent } from './write-sent.js';

/** A message in hand, with the path of the private link made for it where its kind has one. */
export type InHand = { readonly message: Message; readonly path?: string };

const RECORD_TRIES = 3;

/**
 * Who has which message in hand, and what became of it: the dispatcher's hold on the store. Writes that come at
 * the same time share a transaction, because each costs a wait for the disk.
 */
@Injectable()
export class MessageLeases {
  private readonly leases: Leases<Message, InHand>;
  private readonly sendings: InBatches<Sending, undefined>;

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    paths: Pick<PrivatePaths, 'issue'>,
    private readonly channels: readonly Channel[] = ['mail'],
    private readonly effects?: MessageEffects,
  ) {
    this.leases = new Leases({
      units,
      reader,
      clock,
      entity: Message,
      hold: async (manager, messages) => {
        const made = await paths.issue(manager, messages);
        return messages.map((message): InHand => {
          const path = made.get(message.id);
          return path === undefined ? { message } : { message, path };
        });
      },
    });
    this.sendings = new InBatches(async (sendings) => {
      await this.units.run((manager) => writeSent(manager, sendings));
      return sendings.map(() => undefined);
    });
  }

  /** Takes this message in hand if it is due and free. */
  async takeOne(id: string, leaseMs: number): Promise<Taken<InHand>> {
    return await this.leases.takeOne(id, leaseMs);
  }

  /** Does `work` with the messages that are due; see `Leases.workOff`. */
  async workOff<T>(
    bounds: Parameters<Leases<Message, InHand>['workOff']>[0],
    work: (held: InHand) => Promise<T>,
    stopping?: AbortSignal,
  ): Promise<T[]> {
    return await this.leases.workOff(bounds, work, stopping);
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

  /** Lets go of the message until `waitMs` have passed. False when the lease had run out. */
  async putBack(message: Message, lastError: string, waitMs: number): Promise<boolean> {
    return await this.leases.settle(message, { lastError, notBefore: this.clock.now() + waitMs });
  }

  /** Lets go of a message whose hour has not come; that was no attempt. */
  async postpone(message: Message, until: number): Promise<boolean> {
    return await this.leases.settle(message, { notBefore: until, attempts: message.attempts - 1 });
  }

  async recordFailed(message: Message, lastError: string, reason: MessageReason | null): Promise<boolean> {
    return await this.leases.settle(
      message,
      { state: 'failed', lastError, reason, notBefore: null },
      async (manager) => await this.effects?.failed(manager, message),
    );
  }

  async recordUnneeded(
    message: Message,
    state: 'withdrawn' | 'unreachable',
    reason: MessageReason,
  ): Promise<void> {
    await this.leases.settle(message, {
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
}
