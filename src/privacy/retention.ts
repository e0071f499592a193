import { Injectable } from '@nestjs/common';
import { IsInt, Max, Min } from 'class-validator';
import { type EntityManager, In, IsNull, LessThan, Not } from 'typeorm';
import { Clock, NumberFromText, validated } from '../base/index.js';
import { Client } from '../clients/index.js';
import { type Actor, Audit, Sessions } from '../identity/index.js';
import { Message } from '../reminders/index.js';
import { newId, Reader, UnitOfWork } from '../store/index.js';
import { RETENTION_KINDS, type RetentionKind, RetentionRule } from './entities.js';
import { Privacy } from './privacy.js';

const LONGEST_MONTHS = 240;
const MONTHS = `Months: write a whole number up to ${LONGEST_MONTHS}, or 0 to keep.`;

/** Months by kind; 0: kept for ever. */
export class RetentionInput implements Record<RetentionKind, number> {
  @NumberFromText()
  @Min(0, { message: MONTHS })
  @Max(LONGEST_MONTHS, { message: MONTHS })
  @IsInt({ message: MONTHS })
  client: number;

  @NumberFromText()
  @Min(0, { message: MONTHS })
  @Max(LONGEST_MONTHS, { message: MONTHS })
  @IsInt({ message: MONTHS })
  message: number;
}

/** What the rules would take out at an instant. */
export type RetentionPlan = {
  readonly clients: readonly { readonly id: string; readonly name: string }[];
  readonly messages: number;
};

/** The instant so many calendar months before `now`, in UTC. */
function monthsBefore(now: number, months: number): number {
  const date = new Date(now);
  date.setUTCMonth(date.getUTCMonth() - months);
  return date.getTime();
}

/** Rules by age. Nothing is taken out by itself: the owner looks at the plan and sets it going. */
@Injectable()
export class Retention {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly privacy: Privacy,
    private readonly sessions: Sessions,
  ) {}

  async rules(salonId: string): Promise<Record<RetentionKind, number>> {
    const rules = await this.reader.manager.findBy(RetentionRule, { salonId });
    const of = (kind: RetentionKind) => rules.find((rule) => rule.kind === kind)?.months ?? 0;
    return { client: of('client'), message: of('message') };
  }

  /** Throws INPUT.INVALID naming the kind. */
  async setRules(salonId: string, input: unknown, actor: Actor): Promise<void> {
    const checked = await validated(RetentionInput, input);
    await this.units.run(async (manager) => {
      await manager.delete(RetentionRule, { salonId });
      for (const kind of RETENTION_KINDS) {
        if (checked[kind] === 0) continue;
        await manager.insert(RetentionRule, {
          id: newId(),
          version: 1,
          salonId,
          kind,
          months: checked[kind],
        });
      }
      await this.audit.record(manager, actor, {
        action: 'privacy.rules',
        subjectKind: 'salon',
        subjectId: salonId,
        details: { client: checked.client, message: checked.message },
      });
    });
  }

  /** The dry run: changes nothing. */
  async plan(salonId: string): Promise<RetentionPlan> {
    const rules = await this.rules(salonId);
    const { manager } = this.reader;
    return {
      clients: await this.oldClients(manager, salonId, rules.client),
      messages: await manager.count(Message, { where: this.oldMessages(salonId, rules.message) }),
    };
  }

  /** Does what the plan says now, and forgets sessions that are over. */
  async apply(salonId: string, actor: Actor): Promise<RetentionPlan> {
    const rules = await this.rules(salonId);
    const clients = await this.oldClients(this.reader.manager, salonId, rules.client);
    for (const { id } of clients) await this.privacy.erase(id, actor);
    const messages = await this.units.run(async (manager) => {
      await this.sessions.forgetExpired(manager);
      const { affected } = await manager.update(Message, this.oldMessages(salonId, rules.message), {
        address: null,
        subject: null,
        body: null,
        lastError: null,
      });
      const count = affected ?? 0;
      await this.audit.record(manager, actor, {
        action: 'privacy.apply',
        subjectKind: 'salon',
        subjectId: salonId,
        details: { clients: clients.length, messages: count },
      });
      return count;
    });
    return { clients, messages };
  }

  /** Clients without visit or appointment since, and not added since either. */
  private async oldClients(
    manager: EntityManager,
    salonId: string,
    months: number,
  ): Promise<{ id: string; name: string }[]> {
    if (months === 0) return [];
    const since = monthsBefore(this.clock.now(), months);
    const rows = await manager
      .createQueryBuilder(Client, 'client')
      .where('client.salonId = :salonId AND client.erasedAt IS NULL AND client.addedAt < :since')
      .andWhere(
        'NOT EXISTS (SELECT 1 FROM appointment a WHERE a."clientId" = client.id AND a."startsAt" >= :since)',
      )
      .andWhere(
        'NOT EXISTS (SELECT 1 FROM visit v WHERE v."clientId" = client.id AND v."closedAt" >= :since)',
      )
      .setParameters({ salonId, since })
      .orderBy('client.id', 'ASC')
      .getMany();
    return rows.map(({ id, givenName, familyName }) => ({ id, name: `${givenName} ${familyName}`.trim() }));
  }

  private oldMessages(salonId: string, months: number) {
    const before = months === 0 ? Number.NEGATIVE_INFINITY : monthsBefore(this.clock.now(), months);
    return {
      salonId,
      dueAt: LessThan(Number.isFinite(before) ? before : 0),
      state: Not(In(['owed'] as const)),
      body: Not(IsNull()),
    };
  }
}
