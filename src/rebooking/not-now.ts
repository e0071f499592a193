import { Injectable } from '@nestjs/common';
import { IsIn, IsString, MaxLength } from 'class-validator';
import { Blankable, Clock, DomainError, dateIn, IsDateText, validated } from '../base/index.js';
import { Client } from '../clients/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { Salon } from '../salon/index.js';
import { newId, UnitOfWork } from '../store/index.js';
import { NOT_NOW_REASONS, NotNow, type NotNowReason } from './entities.js';

export class NotNowInput {
  @IsIn(NOT_NOW_REASONS, { message: `Reason: choose one of ${NOT_NOW_REASONS.join(', ')}.` })
  reason: NotNowReason;

  /** What she said. */
  @Blankable()
  @IsString({ message: 'Words: give them as text.' })
  @MaxLength(500, { message: 'Words: give at most 500 characters.' })
  words?: string | null;

  @Blankable()
  @IsDateText({ message: 'Ask again: give the day as year, month and day, such as 2026-06-09.' })
  askAgainOn?: string | null;
}

/** Why clients leave without their next appointment: the reason goes along on the due list. */
@Injectable()
export class NotNows {
  constructor(
    private readonly units: UnitOfWork,
    private readonly clock: Clock,
    private readonly audit: Audit,
  ) {}

  /** `input` is a NotNowInput. Throws INPUT.INVALID, CLIENT.NOT_FOUND, and NOT_NOW.PAST for a day to ask again that has passed. */
  async record(clientId: string, input: unknown, actor: Actor): Promise<NotNow> {
    const { reason, words, askAgainOn } = await validated(NotNowInput, input);
    const now = this.clock.now();
    return await this.units.run(async (manager) => {
      const client = await manager.findOneBy(Client, { id: clientId });
      if (!client) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
      const { zone } = await manager.findOneByOrFail(Salon, { id: client.salonId });
      if (askAgainOn && askAgainOn < dateIn(zone, now)) {
        const message = 'Ask again: that day has passed. Give one from today on.';
        throw DomainError.invalid('NOT_NOW.PAST', 'askAgainOn', message);
      }
      const said = manager.create(NotNow, {
        id: newId(),
        salonId: client.salonId,
        clientId,
        reason,
        words: words ?? '',
        askAgainOn: askAgainOn ?? null,
        saidAt: now,
        recordedById: actor.accountId,
      });
      await manager.insert(NotNow, said);
      await this.audit.record(manager, actor, {
        action: 'rebooking.not-now',
        subjectKind: 'client',
        subjectId: clientId,
        details: { reason },
      });
      return said;
    });
  }
}
