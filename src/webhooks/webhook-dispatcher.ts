import { Inject, Injectable, Logger } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock } from '../base/index.js';
import { Account, AccountMail, Audit, SYSTEM } from '../identity/index.js';
import { backoffMs } from '../reminders/index.js';
import {
  carryOutDue,
  carryOutOne,
  type Delivery,
  type DispatchTally,
  Leases,
  Reader,
  SETTINGS,
  type Settings,
  UnitOfWork,
} from '../store/index.js';
import { Webhook, WebhookDelivery } from './entities.js';
import { ENVELOPE_TYPE, envelope } from './envelope.js';
import { TEST_TYPE } from './event-types.js';
import { signatures } from './signature.js';
import { type Called, callWebhook } from './webhook-caller.js';
import { WEBHOOK_POLICY, type WebhookPolicy } from './webhook-policy.js';

/** "Gone" (RFC 9110): the receiver wants nothing more. */
const GONE = 410;

/**
 * Tells addresses what is owed to them. Any number may run at once, in one process or in several; one that dies leaves a
 * lease that runs out, so an event may arrive twice, with the same webhook-id, but none is lost. Events of one thing may
 * arrive in another order than they happened.
 */
@Injectable()
export class WebhookDispatcher {
  private readonly log = new Logger('WebhookDispatcher');
  private readonly leases: Leases<WebhookDelivery, WebhookDelivery>;

  constructor(
    units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly mail: AccountMail,
    private readonly audit: Audit,
    @Inject(SETTINGS) private readonly settings: Pick<Settings, 'publicUrl' | 'webhooksAllowPrivate'>,
    @Inject(WEBHOOK_POLICY) private readonly policy: WebhookPolicy,
  ) {
    this.leases = new Leases({
      units,
      reader,
      clock,
      entity: WebhookDelivery,
      hold: async (_, deliveries) => [...deliveries],
    });
  }

  /** Deliveries in hand at a time, in one process. */
  get atOnce(): number {
    return this.policy.atOnce;
  }

  /** How long one may be in hand, in milliseconds. */
  get leaseMs(): number {
    return this.policy.leaseMs;
  }

  /** Delivers what is due, as `Dispatcher.deliverDue` does with messages. */
  async deliverDue(limit = 100, stopping?: AbortSignal): Promise<DispatchTally> {
    const { atOnce, leaseMs } = this.policy;
    const bounds = { limit, atOnce, leaseMs };
    return await carryOutDue(this.leases, bounds, (held: WebhookDelivery) => this.deliver(held), stopping);
  }

  /** Delivers this one if it is due and nobody has it in hand; throws only when the store fails. */
  async deliverOne(id: string): Promise<Delivery> {
    const { leaseMs } = this.policy;
    return await carryOutOne(this.leases, id, leaseMs, (held: WebhookDelivery) => this.deliver(held));
  }

  private async deliver(delivery: WebhookDelivery): Promise<Delivery> {
    const webhook = await this.reader.manager.findOneBy(Webhook, { id: delivery.webhookId });
    const isWanted = webhook !== null && (webhook.active || delivery.type === TEST_TYPE);
    if (!isWanted) {
      await this.leases.settle(delivery, { state: 'withdrawn', notBefore: null });
      return { outcome: 'unneeded' };
    }
    // One that dies in every attempt is told by none of them.
    const called: Called =
      delivery.attempts > this.policy.maxAttempts
        ? { trouble: delivery.lastError ?? 'Every attempt was cut off before its outcome was known.' }
        : await this.call(delivery, webhook);
    if ('status' in called && called.status >= 200 && called.status < 300) {
      return await this.recordSent(delivery, webhook, called.status);
    }
    return await this.recordTrouble(delivery, webhook, called);
  }

  private async call(delivery: WebhookDelivery, webhook: Webhook): Promise<Called> {
    const { publicUrl, webhooksAllowPrivate } = this.settings;
    const now = this.clock.now();
    const body = envelope(delivery, publicUrl, webhook.salonId);
    const seconds = Math.floor(now / 1000);
    const isFormerGood = webhook.formerSecret !== '' && (webhook.formerUntil ?? 0) > now;
    const secrets = [webhook.secret, ...(isFormerGood ? [webhook.formerSecret] : [])];
    const headers = {
      'content-type': ENVELOPE_TYPE,
      'webhook-id': delivery.eventId,
      'webhook-timestamp': `${seconds}`,
      'webhook-signature': signatures(secrets, delivery.eventId, seconds, body),
    };
    const limits = { allowPrivate: webhooksAllowPrivate, withinMs: this.policy.withinMs };
    return await callWebhook(webhook.url, { body, headers }, limits);
  }

  private async recordSent(delivery: WebhookDelivery, { id }: Webhook, status: number): Promise<Delivery> {
    const sent = { state: 'sent' as const, sentAt: this.clock.now(), notBefore: null };
    const kept = await this.leases.settle(
      delivery,
      { ...sent, lastStatus: status, lastError: null },
      async (manager) => {
        await noteFailing(manager, id, null);
      },
    );
    return { outcome: kept ? 'sent' : 'unneeded' };
  }

  private async recordTrouble(
    delivery: WebhookDelivery,
    webhook: Webhook,
    called: Called,
  ): Promise<Delivery> {
    const now = this.clock.now();
    const lastStatus = 'status' in called ? called.status : null;
    const lastError = 'status' in called ? wordsOf(called.status) : called.trouble;
    const failingSince = webhook.failingSince ?? now;
    const isOver = lastStatus === GONE || now - failingSince >= this.policy.givesUpAfterMs;
    const isFinal = isOver || delivery.attempts >= this.policy.maxAttempts || delivery.type === TEST_TYPE;
    const wait = backoffMs(delivery.attempts, this.policy.random);
    const outcome = isFinal ? { state: 'failed' as const, notBefore: null } : { notBefore: now + wait };
    const isTest = delivery.type === TEST_TYPE;
    let hasEnded = false;
    const kept = await this.leases.settle(
      delivery,
      { ...outcome, lastStatus, lastError },
      async (manager) => {
        if (isTest) return;
        await noteFailing(manager, webhook.id, failingSince);
        hasEnded = isOver && (await this.giveUp(manager, webhook, now));
      },
    );
    if (!kept) return { outcome: 'unneeded' };
    if (hasEnded) await this.tellOwners(webhook, lastStatus === GONE);
    return isFinal ? { outcome: 'failed', words: lastError } : { outcome: 'waiting', until: now + wait };
  }

  /** Of several deliveries that fail together one switches it off: whether this was it. */
  private async giveUp(manager: EntityManager, { id }: Webhook, now: number): Promise<boolean> {
    const off = { active: false, gaveUpAt: now };
    const { affected } = await manager.update(Webhook, { id, active: true }, off);
    if (affected === 0) return false;
    await this.audit.record(manager, SYSTEM, {
      action: 'webhook.give-up',
      subjectKind: 'webhook',
      subjectId: id,
    });
    return true;
  }

  /** A letter that cannot be sent stops nothing: the settings say it too. */
  private async tellOwners({ url }: Webhook, isGone: boolean): Promise<void> {
    const { publicUrl } = this.settings;
    const owners = await this.reader.manager.findBy(Account, { role: 'owner', active: true });
    for (const { name, email } of owners) {
      const text =
        `Hello ${name},\n\n${isGone ? 'a program asked to be told nothing more' : 'nothing that is told to a program has arrived for days'}, ` +
        `so it was switched off: ${new URL(url).host}. ` +
        `When it works again, switch it on under ${publicUrl}/settings/webhooks.`;
      await this.mail
        .post({ to: { name, address: email }, subject: 'A program is no longer told', text })
        .catch((error: Error) => this.log.error(`An owner could not be told: ${error.message}`));
    }
  }
}

/** Past the version: who edits the address must not be held up by what arrives at it. */
async function noteFailing(manager: EntityManager, id: string, since: number | null): Promise<void> {
  await manager.query('UPDATE webhook SET "failingSince" = $1 WHERE id = $2', [since, id]);
}

function wordsOf(status: number): string {
  if (status >= 300 && status < 400) {
    return `It answered ${status}, leading elsewhere: write the address that answers itself.`;
  }
  return `It answered ${status}.`;
}
