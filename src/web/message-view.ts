import type { MessageLine } from '../reminders/index.js';
import { momentText, type Spoken } from './days.js';
import { MESSAGE_KIND_WORDS, MESSAGE_REASON_WORDS, MESSAGE_STATE_WORDS } from './words.js';

/** A message as the desk reads it. */
export function messageRow(line: MessageLine, zone: string, spoken: Spoken, now: number) {
  const moment = (instant: number) => momentText(instant, zone, spoken);
  const about = line.startsAt === null ? '' : `for ${moment(line.startsAt)}`;
  const when =
    line.state === 'sent' && line.sentAt !== null
      ? `sent ${moment(line.sentAt)}${line.sentBy === 'outbox' ? ' to the outbox folder' : ''}`
      : line.state === 'owed'
        ? `goes out ${moment(line.dueAt)}`
        : '';
  return {
    id: line.id,
    clientId: line.clientId,
    clientName: line.clientName,
    kind: MESSAGE_KIND_WORDS[line.kind] ?? line.kind,
    address: line.address ?? '',
    state: line.state,
    words: MESSAGE_STATE_WORDS[line.state],
    reason: line.reason ? (MESSAGE_REASON_WORDS[line.reason] ?? line.reason) : '',
    about,
    when,
    attempts: line.attempts,
    lastError: line.lastError ?? '',
    /** May be tried again: a message about what has begun helps nobody. */
    retry: line.state === 'failed' && (line.startsAt === null || line.startsAt > now),
    subject: line.subject ?? '',
  };
}
