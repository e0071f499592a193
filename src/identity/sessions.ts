import { Injectable } from '@nestjs/common';
import { type EntityManager, MoreThan } from 'typeorm';
import { Clock, DomainError } from '../base/index.js';
import { newId, Reader, Shared, UnitOfWork } from '../store/index.js';
import type { Actor } from './actor.js';
import { Audit } from './audit.js';
import { Session, type SessionKind } from './entities.js';
import { newToken, tokenHash } from './tokens.js';

const MINUTE_MS = 60_000;
const HOUR_MS = 60 * MINUTE_MS;

/** How long a session lasts at most. */
const LASTS_MS: Record<SessionKind, number> = {
  browser: 12 * HOUR_MS,
  api: 12 * HOUR_MS,
  desk: 30 * 24 * HOUR_MS,
  pin: 30 * MINUTE_MS,
};
/** A browser that was not used for so long must sign in again. */
const IDLE_MS = 4 * HOUR_MS;
/** "Last seen" is written no more often than this. */
const SEEN_EVERY_MS = 5 * MINUTE_MS;
const LONGEST_AGENT = 200;
/** Says that some sessions were ended, not whose. */
const ENDED = 'sessions-ended';

export type StartedSession = { readonly token: string; readonly expiresAt: number };

export type SessionStart = {
  readonly accountId: string;
  readonly kind: SessionKind;
  readonly address?: string | undefined;
  readonly agent?: string | undefined;
  readonly deskId?: string;
};

/** A session as its owner sees it. */
export type SessionLine = {
  readonly id: string;
  readonly kind: SessionKind;
  readonly startedAt: number;
  readonly lastSeenAt: number;
  readonly expiresAt: number;
  readonly address: string | null;
  readonly agent: string | null;
};

@Injectable()
export class Sessions {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly shared: Shared = new Shared(),
  ) {}

  async start(manager: EntityManager, { agent, address, ...start }: SessionStart): Promise<StartedSession> {
    const token = newToken();
    const now = this.clock.now();
    const expiresAt = now + LASTS_MS[start.kind];
    await manager.insert(Session, {
      id: newId(),
      tokenHash: tokenHash(token),
      startedAt: now,
      lastSeenAt: now,
      expiresAt,
      address: address ?? null,
      agent: agent?.slice(0, LONGEST_AGENT) ?? null,
      deskId: null,
      ...start,
    });
    return { token, expiresAt };
  }

  /**
   * The session behind a token while it lasts, with the desk's where it hangs on one; notes that it was seen when
   * somebody uses it. `used` is false for what a page does by itself: it must not keep a forgotten browser signed in.
   */
  async standing(token: string, used = true): Promise<Session | undefined> {
    const session = await this.reader.manager.findOneBy(Session, { tokenHash: tokenHash(token) });
    const now = this.clock.now();
    if (!session || session.expiresAt <= now) return undefined;
    const seenAt = session.lastSeenAt ?? session.startedAt;
    if (session.kind === 'browser' && now - seenAt > IDLE_MS) return undefined;
    if (session.deskId && !(await this.lasts(session.deskId, now))) return undefined;
    if (used && session.kind === 'browser' && now - seenAt > SEEN_EVERY_MS) {
      await this.units.run((manager) => manager.update(Session, { id: session.id }, { lastSeenAt: now }));
    }
    return session;
  }

  private lasts(id: string, now: number): Promise<boolean> {
    return this.reader.manager.existsBy(Session, { id, expiresAt: MoreThan(now) });
  }

  /** Sessions that last, newest first. */
  async ofAccount(accountId: string): Promise<SessionLine[]> {
    const sessions = await this.reader.manager.find(Session, {
      where: { accountId, expiresAt: MoreThan(this.clock.now()) },
      order: { startedAt: 'DESC', id: 'DESC' },
    });
    return sessions.map((session) => ({
      id: session.id,
      kind: session.kind,
      startedAt: session.startedAt,
      lastSeenAt: session.lastSeenAt ?? session.startedAt,
      expiresAt: session.expiresAt,
      address: session.address ?? null,
      agent: session.agent ?? null,
    }));
  }

  /** Ends one session of the account. Throws SESSION.NOT_FOUND, also for somebody else's. */
  async end(accountId: string, id: string, actor: Actor): Promise<void> {
    await this.units.run(async (manager) => {
      const session = await manager.findOneBy(Session, { id, accountId });
      if (!session) throw DomainError.notFound('SESSION.NOT_FOUND', 'session');
      await this.remove(manager, [session]);
      await this.record(manager, actor, accountId, 1);
    });
  }

  /** Ends every session of the account but the one with `keepToken`. */
  async endAll(manager: EntityManager, accountId: string, actor: Actor, keepToken?: string): Promise<void> {
    const all = await manager.findBy(Session, { accountId });
    const ended = all.filter((session) => !keepToken || session.tokenHash !== tokenHash(keepToken));
    await this.remove(manager, ended);
    await this.record(manager, actor, accountId, ended.length);
  }

  async signOut(token: string): Promise<void> {
    await this.units.run(async (manager) => {
      const session = await manager.findOneBy(Session, { tokenHash: tokenHash(token) });
      if (session) await this.remove(manager, [session]);
    });
  }

  /** Calls `hear` whenever sessions were ended, in whichever process. Returns what stops it. */
  onEnded(hear: () => void): () => void {
    return this.shared.subscribe(ENDED, hear);
  }

  /** Removes what is over. Returns how many. */
  async forgetExpired(manager: EntityManager): Promise<number> {
    const now = this.clock.now();
    const result = await manager
      .createQueryBuilder()
      .delete()
      .from(Session)
      .where('expiresAt <= :now', { now })
      .execute();
    return result.affected ?? 0;
  }

  private async remove(manager: EntityManager, sessions: readonly Session[]): Promise<void> {
    this.units.afterCommit(() => this.shared.publish(ENDED, ''));
    for (const { id } of sessions) {
      await manager.delete(Session, { deskId: id });
      await manager.delete(Session, { id });
    }
  }

  private async record(
    manager: EntityManager,
    actor: Actor,
    accountId: string,
    count: number,
  ): Promise<void> {
    await this.audit.record(manager, actor, {
      action: 'session.end',
      subjectKind: 'account',
      subjectId: accountId,
      details: { count },
    });
  }
}
