import type { EntityManager } from 'typeorm';
import type { Message } from './entities.js';

/** What went out, and how. */
export type Sent = Pick<
  Message,
  'address' | 'sentBy' | 'channel' | 'subject' | 'body' | 'language' | 'template' | 'segments'
>;

export type Sending = Sent & { readonly id: string; readonly sentAt: number };

const TEXTS = ['address', 'sentBy', 'channel', 'subject', 'body', 'language', 'template'] as const;
const NUMBERS = ['segments', 'sentAt'] as const;
const COLUMNS = ['id', ...TEXTS, ...NUMBERS] as const;

/**
 * Records several sendings in one statement: each costs the ORM more than the database. Understood by SQLite (3.33 or
 * newer) and PostgreSQL alike; PostgreSQL takes the values for text, hence the casts.
 */
export async function writeSent(manager: EntityManager, sendings: readonly Sending[]): Promise<void> {
  const quoted = (names: readonly string[]) => names.map((name) => `"${name}"`).join(', ');
  const rows = sendings.map(
    (_, i) => `(${COLUMNS.map((_column, k) => `CAST($${i * COLUMNS.length + k + 1} AS text)`).join(', ')})`,
  );
  const values = sendings.flatMap((sending) =>
    COLUMNS.map((name) => (typeof sending[name] === 'number' ? `${sending[name]}` : sending[name])),
  );
  const set = [
    ...TEXTS.map((name) => `"${name}" = v."${name}"`),
    ...NUMBERS.map((name) => `"${name}" = CAST(v."${name}" AS bigint)`),
    `state = 'sent'`,
    ...['reason', 'lastError', 'leaseId', 'notBefore'].map((name) => `"${name}" = NULL`),
  ];
  await manager.query(
    `WITH v(${quoted(COLUMNS)}) AS (VALUES ${rows.join(', ')})
     UPDATE message SET ${set.join(', ')} FROM v WHERE message.id = v.id AND message.state <> 'sent'`,
    values,
  );
}
