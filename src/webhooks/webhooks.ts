import { Inject, Injectable } from '@nestjs/common';
import { type EntityManager, MoreThan } from 'typeorm';
import { Clock, DomainError, given, validated } from '../base/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { loadForEdit, newId, Reader, SETTINGS, type Settings, UnitOfWork } from '../store/index.js';
import { WebhookInput } from './dto.js';
import { Webhook, WebhookDelivery } from './entities.js';
import { TEST_TYPE } from './event-types.js';
import { newSecret } from './signature.js';
import { refusedAddress } from './webhook-caller.js';
import { owedTo } from './webhook-events.js';

const WEBHOOK = { code: 'WEBHOOK', name: 'webhook' };
const DAY_MS = 86_400_000;
const MOST = 20;
const SHOWN_DAYS = 7;
const SHOWN_MOST = 100;
/** So long both secrets sign after a new one was made. */
const BOTH_MS = DAY_MS;

/** Without what signs. */
export type WebhookLine = Omit<Webhook, 'secret' | 'formerSecret'>;

export type DeliveryLine = Omit<WebhookDelivery, 'leaseId'>;

function line(webhook: Webhook): WebhookLine {
  const { secret: _, formerSecret: __, ...shown } = webhook;
  return shown;
}

/** Which addresses a salon tells of what, kept by its owner. */
@Injectable()
export class Webhooks {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    @Inject(SETTINGS) private readonly settings: Pick<Settings, 'webhooksAllowPrivate'>,
  ) {}

  /** In the order in which they were added. */
  async of(salonId: string): Promise<WebhookLine[]> {
    const webhooks = await this.reader.manager.find(Webhook, { where: { salonId }, order: { id: 'ASC' } });
    return webhooks.map(line);
  }

  /** Throws WEBHOOK.NOT_FOUND, also for another salon's. */
  async get(salonId: string, id: string): Promise<WebhookLine> {
    const webhook = await this.reader.manager.findOneBy(Webhook, { id, salonId });
    if (!webhook) throw DomainError.notFound('WEBHOOK.NOT_FOUND', WEBHOOK.name);
    return line(webhook);
  }

  /** The secret is returned here and never again. Throws INPUT.INVALID, WEBHOOK.ADDRESS, WEBHOOK.MANY. */
  async add(
    salonId: string,
    input: unknown,
    actor: Actor,
  ): Promise<{ readonly webhook: WebhookLine; readonly secret: string }> {
    const { expectedVersion: _, ...checked } = await this.checked(given(input));
    const secret = newSecret();
    return await this.units.run(async (manager) => {
      if ((await manager.countBy(Webhook, { salonId })) >= MOST) {
        throw new DomainError('refused', 'WEBHOOK.MANY', `A salon tells at most ${MOST} addresses.`);
      }
      const webhook = manager.create(Webhook, {
        ...checked,
        id: newId(),
        salonId,
        secret,
        formerSecret: '',
        formerUntil: null,
        madeAt: this.clock.now(),
        failingSince: null,
        gaveUpAt: null,
      });
      await manager.save(webhook);
      await this.record(manager, actor, 'webhook.add', webhook.id);
      return { webhook: line(webhook), secret };
    });
  }

  /**
   * Fields that are left out stay as they are. Switched on again, it starts with a clean slate. Throws as `add` does, and
   * WEBHOOK.NOT_FOUND, WEBHOOK.STALE.
   */
  async change(salonId: string, id: string, input: unknown, actor: Actor): Promise<WebhookLine> {
    const { url, events, active } = await this.get(salonId, id);
    const { expectedVersion, ...checked } = await this.checked({ url, events, active, ...given(input) });
    return await this.units.run(async (manager) => {
      const webhook = await loadForEdit(manager, Webhook, id, WEBHOOK, expectedVersion);
      if (checked.active && !webhook.active) Object.assign(webhook, { failingSince: null, gaveUpAt: null });
      await manager.save(Object.assign(webhook, checked));
      await this.record(manager, actor, 'webhook.change', id);
      return line(webhook);
    });
  }

  /** A new secret; the one before signs as well for a day. Throws WEBHOOK.NOT_FOUND. */
  async newSecret(salonId: string, id: string, actor: Actor): Promise<string> {
    await this.get(salonId, id);
    const secret = newSecret();
    await this.units.run(async (manager) => {
      const webhook = await loadForEdit(manager, Webhook, id, WEBHOOK);
      const formerUntil = this.clock.now() + BOTH_MS;
      await manager.save(Object.assign(webhook, { formerSecret: webhook.secret, formerUntil, secret }));
      await this.record(manager, actor, 'webhook.secret', id);
    });
    return secret;
  }

  /** With everything that was owed to it. Throws WEBHOOK.NOT_FOUND. */
  async remove(salonId: string, id: string, actor: Actor): Promise<void> {
    await this.get(salonId, id);
    await this.units.run(async (manager) => {
      await manager.delete(WebhookDelivery, { webhookId: id });
      await manager.delete(Webhook, { id });
      await this.record(manager, actor, 'webhook.remove', id);
    });
  }

  /** Owes it an event of no meaning, also where it is switched off; tried once. Throws WEBHOOK.NOT_FOUND. */
  async test(salonId: string, id: string, actor: Actor): Promise<DeliveryLine> {
    await this.get(salonId, id);
    return await this.units.run(async (manager) => {
      const event = {
        eventId: newId(),
        type: TEST_TYPE,
        subject: `webhooks/${id}`,
        clientId: null,
        data: { salonId, webhookId: id },
      } as const;
      const delivery = owedTo(id, event, this.clock.now());
      await manager.insert(WebhookDelivery, delivery);
      await this.record(manager, actor, 'webhook.test', id);
      return delivery;
    });
  }

  /** Of the last seven days, the newest first, at most a hundred. Throws WEBHOOK.NOT_FOUND. */
  async deliveries(salonId: string, id: string): Promise<DeliveryLine[]> {
    await this.get(salonId, id);
    const since = this.clock.now() - SHOWN_DAYS * DAY_MS;
    const rows = await this.reader.manager.find(WebhookDelivery, {
      where: { webhookId: id, happenedAt: MoreThan(since) },
      order: { id: 'DESC' },
      take: SHOWN_MOST,
    });
    return rows.map(({ leaseId: _, ...row }) => row);
  }

  /** Owes a failed delivery anew. Throws WEBHOOK.NOT_FOUND, WEBHOOK.NOT_FAILED. */
  async retry(salonId: string, id: string, deliveryId: string, actor: Actor): Promise<void> {
    await this.get(salonId, id);
    await this.units.run(async (manager) => {
      const { affected } = await manager.update(
        WebhookDelivery,
        { id: deliveryId, webhookId: id, state: 'failed' },
        { state: 'owed', attempts: 0, notBefore: null, leaseId: null },
      );
      if (affected === 0) {
        throw new DomainError(
          'conflict',
          'WEBHOOK.NOT_FAILED',
          'Only what failed can be tried again, and this did not.',
        );
      }
      await this.record(manager, actor, 'webhook.retry', id);
    });
  }

  private async checked(input: object): Promise<WebhookInput> {
    const checked = await validated(WebhookInput, input);
    const refused = refusedAddress(checked.url, this.settings.webhooksAllowPrivate);
    if (refused !== undefined) throw DomainError.invalid('WEBHOOK.ADDRESS', 'url', refused);
    return checked;
  }

  private async record(
    manager: EntityManager,
    actor: Actor,
    action: string,
    subjectId: string,
  ): Promise<void> {
    await this.audit.record(manager, actor, { action, subjectKind: 'webhook', subjectId });
  }
}
