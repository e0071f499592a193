import { Inject, Injectable, Logger } from '@nestjs/common';
import { Clock } from '../base/index.js';
import { Appointment } from '../book/index.js';
import { Reader, SETTINGS, type Settings } from '../store/index.js';
import { backoffMs } from './backoff.js';
import { DISPATCH_POLICY, type DispatchPolicy } from './dispatch-policy.js';
import type { Message, MessageReason } from './entities.js';
import { letterFacts } from './letter-facts.js';
import { MessageLeases } from './message-leases.js';
import { reachOf } from './reach.js';
import { DeliveryError, type OutgoingMail, Sender } from './sender.js';
import { MessageTemplates } from './templates.js';

/**
 * What became of the messages that one run took in hand. `waiting` ones will be tried again; `unneeded` ones had
 * become pointless, or somebody else's since the lease ran out.
 */
export type DispatchTally = { sent: number; waiting: number; failed: number; unneeded: number };

type Verdict =
  | { readonly send: OutgoingMail }
  | { readonly unneeded: 'withdrawn' | 'unreachable'; readonly reason: MessageReason }
  | { readonly failed: string; readonly reason: MessageReason | null };

const ERROR_MAX = 500;

/**
 * Sends what is owed. Any number may run at once, in one process or in several: a message is leased in a
 * unit of work, rendered and sent outside of any, and what became of it is recorded in another. One that dies in
 * between leaves a lease that runs out. A mail may then go twice, with the same Message-ID; none is lost.
 */
@Injectable()
export class Dispatcher {
  private readonly log = new Logger('Dispatcher');
  private readonly domain: string;
  private revivedAt = Number.NEGATIVE_INFINITY;

  constructor(
    private readonly leases: MessageLeases,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly templates: MessageTemplates,
    private readonly sender: Sender,
    @Inject(DISPATCH_POLICY) private readonly policy: DispatchPolicy,
    @Inject(SETTINGS) settings: Settings,
  ) {
    if (policy.leaseMs <= policy.sendWithinMs) {
      throw new Error('A lease must last longer than a sending may take.');
    }
    this.domain = new URL(settings.publicUrl).hostname;
  }

  /** Whether mail leaves the house ('smtp') or waits in a folder ('outbox'); pages say so plainly. */
  get sendsBy(): Sender['name'] {
    return this.sender.name;
  }

  /**
   * Sends what is due, at most `limit` messages, and stops early between two batches once `stopping` is aborted.
   * What one message runs into is recorded with it; throws only when the store fails, after finishing its batch.
   */
  async deliverDue(limit = 100, stopping?: AbortSignal): Promise<DispatchTally> {
    const tally: DispatchTally = { sent: 0, waiting: 0, failed: 0, unneeded: 0 };
    await this.reviveNowAndThen();
    for (let taken = 0; taken < limit && !stopping?.aborted; ) {
      const batch = await this.leases.take(Math.min(this.policy.atOnce, limit - taken), this.policy.leaseMs);
      if (batch.length === 0 && !(await this.leases.anyDue())) break;
      taken += batch.length;
      const outcomes = await Promise.allSettled(batch.map((message) => this.deliver(message)));
      for (const outcome of outcomes) if (outcome.status === 'fulfilled') tally[outcome.value] += 1;
      const broken = outcomes.find((outcome) => outcome.status === 'rejected');
      if (broken) throw broken.reason;
    }
    return tally;
  }

  private async deliver(message: Message): Promise<keyof DispatchTally> {
    let verdict: Verdict;
    try {
      verdict = await this.judge(message);
      if ('send' in verdict)
        await this.sender.send(verdict.send, AbortSignal.timeout(this.policy.sendWithinMs));
    } catch (error) {
      return await this.recordTrouble(message, error as Error);
    }
    if ('send' in verdict) {
      const { to, subject, text } = verdict.send;
      await this.leases.recordSent(message, {
        address: to.address,
        sentBy: this.sender.name,
        subject,
        body: text,
      });
      return 'sent';
    }
    if ('unneeded' in verdict) {
      await this.leases.recordUnneeded(message, verdict.unneeded, verdict.reason);
      return 'unneeded';
    }
    return await this.recordFailed(message, verdict.failed, verdict.reason);
  }

  /** Whether the message is still to be sent, by what the records say now, and what it says. */
  private async judge(message: Message): Promise<Verdict> {
    const { manager } = this.reader;
    if (message.attempts > this.policy.maxAttempts) {
      return {
        failed: message.lastError ?? 'Every attempt was cut off before its outcome was known.',
        reason: null,
      };
    }
    const appointment = await manager.findOneBy(Appointment, { id: message.appointmentId ?? '' });
    const cancelled = message.kind === 'appointment-cancellation';
    if (appointment?.state !== (cancelled ? 'cancelled' : 'booked')) {
      return { unneeded: 'withdrawn', reason: appointment?.state === 'cancelled' ? 'cancelled' : 'over' };
    }
    if (appointment.startsAt <= this.clock.now()) {
      const cause = message.lastError ? ` Last trouble: ${message.lastError}` : '';
      return { failed: `The appointment began before this could be sent.${cause}`, reason: 'too-late' };
    }
    const reach = await reachOf(manager, message.clientId);
    if ('unreachable' in reach) return { unneeded: 'unreachable', reason: reach.unreachable };

    const { facts, from } = await letterFacts(manager, appointment);
    const { language, subject, text, html } = this.templates.render(message.kind, facts);
    return {
      send: {
        messageId: `<${message.id}@${this.domain}>`,
        from,
        to: { name: facts.clientName, address: reach.address },
        sentAt: this.clock.now(),
        language,
        subject,
        text,
        html,
      },
    };
  }

  private async recordTrouble(message: Message, error: Error): Promise<keyof DispatchTally> {
    const words = error.message.slice(0, ERROR_MAX);
    const final = error instanceof DeliveryError && error.permanent;
    if (!(error instanceof DeliveryError)) this.log.error(`Message ${message.id}: ${words}`, error.stack);
    if (final || message.attempts >= this.policy.maxAttempts) {
      return await this.recordFailed(message, words, null);
    }
    const wait = backoffMs(message.attempts, this.policy.random);
    return (await this.leases.putBack(message, words, wait)) ? 'waiting' : 'unneeded';
  }

  private async recordFailed(
    message: Message,
    words: string,
    reason: MessageReason | null,
  ): Promise<keyof DispatchTally> {
    if (!(await this.leases.recordFailed(message, words, reason))) return 'unneeded';
    this.log.warn(`Message ${message.id} failed: ${words}`);
    return 'failed';
  }

  private async reviveNowAndThen(): Promise<void> {
    const now = this.clock.now();
    if (now - this.revivedAt < this.policy.reviveEveryMs) return;
    this.revivedAt = now;
    await this.leases.revive();
  }
}
