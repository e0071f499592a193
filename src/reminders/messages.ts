import { Injectable } from '@nestjs/common';
import { Type } from 'class-transformer';
import { IsIn, IsInt, IsOptional, IsUUID, Max, Min } from 'class-validator';
import { type EntityManager, In, LessThan } from 'typeorm';
import { Clock, DomainError, validated } from '../base/index.js';
import { Appointment } from '../book/index.js';
import { Client } from '../clients/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { keysetPage, type Page, type PageAsked, Reader, UnitOfWork } from '../store/index.js';
import { MESSAGE_STATES, Message, type MessageKind, type MessageState } from './entities.js';

export class MessageQuery {
  @IsUUID(undefined, { message: 'Salon: give its id.' })
  salonId: string;

  @IsOptional()
  @IsIn(MESSAGE_STATES, { message: `State: choose one of ${MESSAGE_STATES.join(', ')}, or leave it out.` })
  state?: MessageState;

  @IsOptional()
  @Type(() => Number)
  @IsInt({ message: 'Limit: give a whole number from 1 to 200.' })
  @Min(1, { message: 'Limit: give a whole number from 1 to 200.' })
  @Max(200, { message: 'Limit: give a whole number from 1 to 200.' })
  limit?: number;

  /** Id of the last message of the page before. */
  @IsOptional()
  @IsUUID(undefined, { message: 'Before: give the id of the last message you have, or leave it out.' })
  before?: string;
}

export type MessageWish = {
  readonly state?: MessageState | undefined;
  readonly kind?: MessageKind | undefined;
  readonly clientId?: string | undefined;
};

/** A message as a list shows it; `get` brings the body too. */
export type MessageLine = Omit<Message, 'body' | 'leaseId' | 'dedupeKey'> & {
  readonly clientName: string;
  /** Of the appointment it is about. */
  readonly startsAt: number | null;
};

/** What clients were and will be told, for the desk's pages; `Dispatcher` sends it. */
@Injectable()
export class Messages {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
  ) {}

  /** Newest first, 50 unless `limit` says otherwise. Throws INPUT.INVALID naming the field. */
  async list(query: unknown): Promise<MessageLine[]> {
    const { salonId, state, limit = 50, before } = await validated(MessageQuery, query);
    const messages = await this.reader.manager.find(Message, {
      where: { salonId, ...(state && { state }), ...(before && { id: LessThan(before) }) },
      order: { id: 'DESC' },
      take: limit,
    });
    return await asLines(this.reader.manager, messages);
  }

  /** A page of a salon's messages, newest first, of one state, kind or client where those are given. */
  async page(salonId: string, wish: MessageWish, asked: PageAsked): Promise<Page<MessageLine>> {
    const query = this.reader.manager
      .createQueryBuilder(Message, 'message')
      .where('message.salonId = :salonId', { salonId });
    for (const [column, value] of Object.entries(wish)) {
      if (value !== undefined) query.andWhere(`message.${column} = :${column}`, { [column]: value });
    }
    const { rows, next } = await keysetPage(query, ['id'], 'DESC', asked);
    return { rows: await asLines(this.reader.manager, rows), next };
  }

  /** How many messages a salon has in each state. */
  async counts(salonId: string): Promise<Record<MessageState, number>> {
    const rows = await this.reader.manager
      .createQueryBuilder(Message, 'message')
      .select('message.state', 'state')
      .addSelect('COUNT(*)', 'count')
      .where({ salonId })
      .groupBy('message.state')
      .getRawMany<{ state: MessageState; count: number | string }>();
    const counts = { owed: 0, sent: 0, failed: 0, withdrawn: 0, unreachable: 0 };
    for (const { state, count } of rows) counts[state] = Number(count);
    return counts;
  }

  /** Newest first, at most 100. */
  async ofClient(clientId: string): Promise<MessageLine[]> {
    const messages = await this.reader.manager.find(Message, {
      where: { clientId },
      order: { id: 'DESC' },
      take: 100,
    });
    return await asLines(this.reader.manager, messages);
  }

  /** With the text as it was sent; null while it was not. Throws MESSAGE.NOT_FOUND. */
  async get(id: string): Promise<MessageLine & { readonly body: string | null }> {
    const message = await this.reader.manager.findOneBy(Message, { id });
    if (!message) throw notFound();
    const [line] = await asLines(this.reader.manager, [message]);
    return { ...line!, body: message.body };
  }

  /**
   * Owes a failed message anew, at once and with all its attempts before it.
   * Throws MESSAGE.NOT_FOUND, MESSAGE.NOT_FAILED, or MESSAGE.TOO_LATE when its appointment has begun.
   */
  async retry(id: string, actor: Actor): Promise<void> {
    await this.units.run(async (manager) => {
      const { affected } = await manager.update(
        Message,
        { id, state: 'failed' },
        {
          state: 'owed',
          reason: null,
          attempts: 0,
          notBefore: null,
          leaseId: null,
          round: () => 'round + 1',
        },
      );
      const message = await manager.findOneBy(Message, { id });
      if (!message) throw notFound();
      if (affected === 0) {
        throw new DomainError(
          'conflict',
          'MESSAGE.NOT_FAILED',
          `Only a message that failed can be tried again; this one is ${message.state}.`,
        );
      }
      const appointment = await manager.findOneBy(Appointment, { id: message.appointmentId ?? '' });
      if (message.kind !== 'no-show' && appointment && appointment.startsAt <= this.clock.now()) {
        throw new DomainError(
          'conflict',
          'MESSAGE.TOO_LATE',
          'The appointment has begun: this message would no longer help. Call the client instead.',
        );
      }
      await this.audit.record(manager, actor, {
        action: 'message.retry',
        subjectKind: 'message',
        subjectId: id,
      });
    });
  }
}

function notFound(): DomainError {
  return DomainError.notFound('MESSAGE.NOT_FOUND', 'message');
}

async function asLines(manager: EntityManager, messages: readonly Message[]): Promise<MessageLine[]> {
  const clients = await manager.find(Client, {
    select: { id: true, givenName: true, familyName: true, knownAs: true },
    where: { id: In(messages.map(({ clientId }) => clientId)) },
  });
  const appointments = await manager.find(Appointment, {
    select: { id: true, startsAt: true },
    where: { id: In(messages.flatMap(({ appointmentId }) => appointmentId ?? [])) },
  });
  const names = new Map(
    clients.map(({ id, knownAs, givenName, familyName }) => [
      id,
      `${knownAs ?? givenName} ${familyName}`.trim(),
    ]),
  );
  const starts = new Map(appointments.map(({ id, startsAt }) => [id, startsAt]));
  return messages.map(({ body, leaseId, dedupeKey, ...line }) => ({
    ...line,
    clientName: names.get(line.clientId) ?? '',
    startsAt: starts.get(line.appointmentId ?? '') ?? null,
  }));
}
