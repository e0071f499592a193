import { createHash } from 'node:crypto';
import { Entity, type EntityManager, Index, IsNull, LessThan, Not, PrimaryColumn } from 'typeorm';
import { type Clock, DomainError } from '../base/index.js';
import { InstantColumn, JsonColumn, RefColumn, TextColumn } from './columns.js';
import { newId } from './ids.js';
import { SealedColumn } from './sealed-column.js';
import type { UnitOfWork } from './unit-of-work.js';

const DAY_MS = 86_400_000;
/** Longer than any request takes; whoever takes longer can no longer commit. */
const HELD_MS = 60_000;

/** What a request has changed, as the audit trail names it. */
export type Changed = { readonly kind: string; readonly id: string };

/** What was answered, as it was sent. */
export type KeptAnswer = {
  readonly status: number;
  readonly headers: Readonly<Record<string, string>>;
  readonly body: string;
};

/** A request that bears a key. The key itself is not kept, only its digest. */
@Entity()
export class RequestKey {
  /** SHA-256 of who asked and of the key, in hexadecimal. */
  @PrimaryColumn({ type: 'varchar', length: 64 })
  id: string;

  /** SHA-256 of what was asked. */
  @TextColumn(64)
  fingerprint: string;

  /** Who may commit under this key: made anew for every try. */
  @RefColumn()
  holder: string;

  @Index()
  @InstantColumn()
  madeAt: number;

  /** Until then the holder is taken to be at work. */
  @InstantColumn()
  heldUntil: number;

  /** When the holder's first unit was committed: from then on nobody carries the request out again. */
  @InstantColumn({ nullable: true })
  changedAt: number | null;

  @JsonColumn({ nullable: true })
  changed: readonly Changed[] | null;

  @SealedColumn('request_key.answer', { nullable: true })
  answer: string | null;
}

/** The right to carry one keyed request out. */
export class KeyInHand {
  private isOpen = true;

  constructor(
    readonly id: string,
    readonly holder: string,
    private readonly clock: Clock,
  ) {}

  /**
   * Notes in the unit that is about to commit that this request has changed something. Throws IDEMPOTENCY.TAKEN_OVER where
   * the hold has run out and somebody else carries it out.
   */
  async mark(manager: EntityManager, changed: readonly Changed[]): Promise<void> {
    // Work that the request set off and that outlives it is nobody's retry.
    if (!this.isOpen) return;
    const row = await manager.findOneBy(RequestKey, { id: this.id, holder: this.holder });
    if (!row) {
      const message =
        'This request took so long that its repetition has taken its place. Nothing of it was kept.';
      throw new DomainError('conflict', 'IDEMPOTENCY.TAKEN_OVER', message, [], { retryAfterSeconds: 1 });
    }
    await manager.update(
      RequestKey,
      { id: this.id },
      { changedAt: row.changedAt ?? this.clock.now(), changed: [...(row.changed ?? []), ...changed] },
    );
  }

  close(): void {
    this.isOpen = false;
  }
}

/**
 * Remembers keyed requests for a day, in the database, so that it holds for all processes and through restarts. A key is
 * claimed first, in a unit of its own; the unit that makes the change marks it in the same commit; the answer follows.
 * Who dies before the mark leaves a hold that runs out, and the request may be carried out, for nothing of it was. Who
 * dies after it leaves a change without an answer: then the asker is told what was changed, and nothing is done again.
 */
export class RequestKeys {
  constructor(
    private readonly units: UnitOfWork,
    private readonly clock: Clock,
  ) {}

  /**
   * The right to carry the request out, or the answer that it was given before. `asker` keeps apart whose keys they are.
   * Throws IDEMPOTENCY.KEY_REUSED, IDEMPOTENCY.IN_PROGRESS and IDEMPOTENCY.ANSWER_LOST.
   */
  async claim(asker: string, key: string, asked: string): Promise<KeyInHand | KeptAnswer> {
    const id = digest(`${asker}\0${key}`);
    const fingerprint = digest(asked);
    const now = this.clock.now();
    return await this.units.run(async (manager) => {
      const known = await manager.findOneBy(RequestKey, { id });
      if (known && known.madeAt > now - DAY_MS) {
        const answer = answered(known, fingerprint, now);
        if (answer) return answer;
      }
      const holder = newId();
      const row = { id, fingerprint, holder, madeAt: now, heldUntil: now + HELD_MS };
      await manager.save(RequestKey, { ...row, changedAt: null, changed: null, answer: null });
      return new KeyInHand(id, holder, this.clock);
    });
  }

  /** Keeps the answer for whoever asks again. */
  async keep({ id, holder }: KeyInHand, answer: KeptAnswer): Promise<void> {
    await this.units.run((manager) =>
      manager.update(RequestKey, { id, holder }, { answer: JSON.stringify(answer), heldUntil: 0 }),
    );
  }

  /** Lets go of a request that is not to be remembered; where it has changed something, that stays known. */
  async letGo({ id, holder }: KeyInHand): Promise<void> {
    await this.units.run(async (manager) => {
      await manager.delete(RequestKey, { id, holder, changedAt: IsNull() });
      await manager.update(RequestKey, { id, holder }, { heldUntil: 0 });
    });
  }

  /** Empties all answers, for somebody in them is to be forgotten; what was carried out stays so. */
  async forgetAnswers(manager: EntityManager): Promise<void> {
    await manager.update(RequestKey, { answer: Not(IsNull()) }, { answer: null });
  }

  /** Forgets what is older than a day; returns how many. */
  async forget(): Promise<number> {
    const before = this.clock.now() - DAY_MS;
    const { affected } = await this.units.run((manager) =>
      manager.delete(RequestKey, { madeAt: LessThan(before) }),
    );
    return affected ?? 0;
  }
}

/** The answer a known key has; undefined where its request may be carried out. */
function answered(known: RequestKey, fingerprint: string, now: number): KeptAnswer | undefined {
  if (known.fingerprint !== fingerprint) {
    const message =
      'Idempotency-Key: this key was sent with another request. Give each request a key of its own.';
    throw DomainError.invalid('IDEMPOTENCY.KEY_REUSED', 'Idempotency-Key', message);
  }
  if (known.answer !== null) return JSON.parse(known.answer) as KeptAnswer;
  // A clock that was wrong holds nobody up for longer than a hold lasts.
  if (known.heldUntil > now && known.heldUntil <= now + HELD_MS) {
    const message = 'The first request with this key is still being carried out. Ask again in a moment.';
    throw new DomainError('conflict', 'IDEMPOTENCY.IN_PROGRESS', message, [], { retryAfterSeconds: 1 });
  }
  if (known.changedAt === null) return undefined;
  const message =
    'The request with this key was carried out, but its answer was lost. Look at what it changed; it is not done again.';
  throw new DomainError('conflict', 'IDEMPOTENCY.ANSWER_LOST', message, [], {
    carriedOutAt: known.changedAt,
    changed: known.changed ?? [],
  });
}

function digest(text: string): string {
  return createHash('sha256').update(text).digest('hex');
}
