import { Injectable, type OnModuleInit } from '@nestjs/common';
import { type EntityManager, In } from 'typeorm';
import { type Contact, Contacts } from '../rebooking/index.js';
import { Message, type MessageKind } from './entities.js';

const WORDS: Readonly<Record<MessageKind, string>> = {
  'appointment-confirmation': 'confirmation',
  'appointment-reminder': 'reminder',
  'appointment-change': 'change of time',
  'appointment-cancellation': 'cancellation',
  'skin-test-needed': 'word of a skin test',
  'skin-test-reading': 'word of a skin test',
  'shape-due': 'invitation',
  'no-show': 'word of a missed visit',
  'waiting-offer': 'offer from the waiting list',
  'waiting-gone': 'word of an offer that was taken',
};

/** Tells the due list when a client was last written to. */
@Injectable()
export class MessageContacts implements OnModuleInit {
  constructor(private readonly contacts: Contacts) {}

  onModuleInit(): void {
    this.contacts.register(newestMessages);
  }
}

async function newestMessages(
  manager: EntityManager,
  clientIds: readonly string[],
): Promise<Map<string, Contact>> {
  if (clientIds.length === 0) return new Map();
  const newest = await manager
    .createQueryBuilder(Message, 'm')
    .select('m.clientId', 'clientId')
    .addSelect('m.kind', 'kind')
    .addSelect('m.channel', 'channel')
    .addSelect('MAX(m.sentAt)', 'at')
    .where({ clientId: In([...clientIds]), state: 'sent' })
    .groupBy('m.clientId')
    .addGroupBy('m.kind')
    .addGroupBy('m.channel')
    .getRawMany<Pick<Message, 'clientId' | 'kind' | 'channel'> & { at: number | string }>();
  const found = new Map<string, Contact>();
  for (const { clientId, kind, channel, at: raw } of newest) {
    // PostgreSQL hands bigint back as text.
    const at = Number(raw);
    if (at > (found.get(clientId)?.at ?? 0)) {
      found.set(clientId, { at, what: `${WORDS[kind]} by ${channel}` });
    }
  }
  return found;
}
