import { Inject, Injectable, Logger, type OnApplicationShutdown } from '@nestjs/common';
import { Clock } from '../base/index.js';
import { carryOutDue, carryOutOne, type Delivery, type DispatchTally } from '../store/index.js';
import { backoffMs } from './backoff.js';
import { DISPATCH_POLICY, type DispatchPolicy } from './dispatch-policy.js';
import type { Message, MessageReason } from './entities.js';
import { Judge, type Verdict } from './judge.js';
import { type InHand, MessageLeases } from './message-leases.js';
import { Patience } from './patience.js';
import { DeliveryError, Sender, TextSender } from './sender.js';

const ERROR_MAX = 500;

/**
 * Sends what is owed. Any number may run at once, in one process or in several: a message is leased in a
 * unit of work, rendered and sent outside of any, and what became of it is recorded in another. One that dies in
 * between leaves a lease that runs out. A mail may then go twice, with the same Message-ID; none is lost.
 */
@Injectable()
export class Dispatcher implements OnApplicationShutdown {
  private readonly log = new Logger('Dispatcher');
  private readonly takesMs: number;

  constructor(
    private readonly leases: MessageLeases,
    private readonly clock: Clock,
    private readonly judge: Judge,
    private readonly sender: Sender,
    private readonly textSender: TextSender,
    @Inject(DISPATCH_POLICY) private readonly policy: DispatchPolicy,
  ) {
    this.takesMs = policy.sendWithinMs + policy.answerWithinMs + policy.recordWithinMs;
    if (policy.leaseMs <= this.takesMs) {
      throw new Error('A lease must last longer than a sending, its answer and its record may take.');
    }
  }

  /** Whether mail leaves the house ('smtp') or waits in a folder ('outbox'); pages say so plainly. */
  get sendsBy(): Sender['name'] {
    return this.sender.name;
  }

  /** Messages in hand at a time, in one process. */
  get atOnce(): number {
    return this.policy.atOnce;
  }

  onApplicationShutdown(): void {
    this.sender.close();
  }

  /**
   * Sends what is due, at most `limit` messages, and stops early between two batches once `stopping` is aborted.
   * What one message runs into is recorded with it; throws only when the store fails, after finishing its batch.
   */
  async deliverDue(limit = 100, stopping?: AbortSignal): Promise<DispatchTally> {
    const { atOnce, leaseMs } = this.policy;
    const bounds = { limit, atOnce, leaseMs };
    return await carryOutDue(this.leases, bounds, (held: InHand) => this.deliver(held), stopping);
  }

  /** Sends this message if it is due and nobody has it in hand; throws only when the store fails. */
  async deliverOne(id: string): Promise<Delivery> {
    return await carryOutOne(this.leases, id, this.policy.leaseMs, (held: InHand) => this.deliver(held));
  }

  private async deliver({ message, path }: InHand): Promise<Delivery> {
    let verdict: Verdict;
    let patience: Patience | undefined;
    try {
      verdict = this.outOfAttempts(message) ?? (await this.judge.judge(message, path));
      if ('wording' in verdict && this.wouldOutlastLease(message)) verdict = { later: this.clock.now() };
      patience = new Patience(this.policy.sendWithinMs, this.policy.answerWithinMs);
      if ('mail' in verdict) await this.sender.send(verdict.mail, patience);
      if ('text' in verdict) await this.textSender.send(verdict.text, patience);
    } catch (error) {
      return await this.recordTrouble(message, error as Error);
    } finally {
      patience?.over();
    }
    if ('wording' in verdict) {
      const { text, ...wording } = verdict.wording;
      const byMail = 'mail' in verdict;
      await this.leases.recordSent(message, {
        ...wording,
        body: text,
        channel: byMail ? 'mail' : 'text',
        sentBy: byMail ? this.sender.name : this.textSender.name,
      });
      return { outcome: 'sent' };
    }
    if ('unneeded' in verdict) {
      await this.leases.recordUnneeded(message, verdict.unneeded, verdict.reason);
      return { outcome: 'unneeded' };
    }
    if ('later' in verdict) {
      const { later } = verdict;
      const kept = await this.leases.postpone(message, later);
      return kept ? { outcome: 'waiting', until: later } : { outcome: 'unneeded' };
    }
    return await this.recordFailed(message, verdict.failed, verdict.reason);
  }

  /** On a machine so busy that judging took most of the lease, another may soon send the same. */
  private wouldOutlastLease({ notBefore }: Message): boolean {
    return this.clock.now() + this.takesMs > (notBefore ?? 0);
  }

  private outOfAttempts(message: Message): Verdict | undefined {
    if (message.attempts <= this.policy.maxAttempts) return undefined;
    const unknown = 'Every attempt was cut off before its outcome was known.';
    return { failed: message.lastError ?? unknown, reason: null };
  }

  private async recordTrouble(message: Message, error: Error): Promise<Delivery> {
    const words = error.message.slice(0, ERROR_MAX);
    const final = error instanceof DeliveryError && error.permanent;
    if (!(error instanceof DeliveryError)) this.log.error(`Message ${message.id}: ${words}`, error.stack);
    if (final || message.attempts >= this.policy.maxAttempts) {
      return await this.recordFailed(message, words, null);
    }
    const wait = backoffMs(message.attempts, this.policy.random);
    const until = this.clock.now() + wait;
    const kept = await this.leases.putBack(message, words, wait);
    return kept ? { outcome: 'waiting', until } : { outcome: 'unneeded' };
  }

  private async recordFailed(
    message: Message,
    words: string,
    reason: MessageReason | null,
  ): Promise<Delivery> {
    if (!(await this.leases.recordFailed(message, words, reason))) return { outcome: 'unneeded' };
    this.log.warn(`Message ${message.id} failed: ${words}`);
    return { outcome: 'failed', words };
  }
}
