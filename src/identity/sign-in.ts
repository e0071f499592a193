import { createHash, randomBytes } from 'node:crypto';
import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock, DomainError } from '../base/index.js';
import { newId, Reader, UnitOfWork } from '../store/index.js';
import { type Actor, SYSTEM } from './actor.js';
import { Audit } from './audit.js';
import { Account, type Role, Session } from './entities.js';
import { hashPassword, passwordMatches } from './passwords.js';

const SESSION_MS = 12 * 3_600_000;
const SHORTEST_PASSWORD = 10;

/** Somebody who is signed in. */
export type Principal = {
  readonly accountId: string;
  readonly name: string;
  readonly email: string;
  readonly role: Role;
};

export type NewAccount = {
  readonly email: string;
  readonly name: string;
  readonly role: Role;
  /** From hashPassword: hashing is slow on purpose and must not hold the writer. */
  readonly passwordHash: string;
};

function tokenHash(token: string): string {
  return createHash('sha256').update(token).digest('hex');
}

@Injectable()
export class SignIn {
  /** Verified against when the account is unknown, so that its absence takes as long as a wrong password. */
  private readonly decoy = hashPassword(randomBytes(16).toString('hex'));

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
  ) {}

  /** Throws SIGN_IN.REFUSED alike for an unknown address, a wrong password and a closed account. */
  async signIn(
    email: string,
    password: string,
    address?: string,
  ): Promise<{ token: string; expiresAt: number }> {
    const account = await this.reader.manager.findOneBy(Account, { email: email.trim().toLowerCase() });
    const matches = await passwordMatches(account?.passwordHash ?? (await this.decoy), password);
    if (!account?.active || !matches) {
      throw new DomainError(
        'refused',
        'SIGN_IN.REFUSED',
        'That address and password do not go together. Please check both.',
      );
    }
    const token = randomBytes(32).toString('base64url');
    const now = this.clock.now();
    const expiresAt = now + SESSION_MS;
    const actor: Actor = { accountId: account.id, role: account.role, ...(address && { address }) };
    await this.units.run(async (manager) => {
      await manager.insert(Session, {
        id: newId(),
        tokenHash: tokenHash(token),
        accountId: account.id,
        startedAt: now,
        expiresAt,
      });
      await this.audit.record(manager, actor, {
        action: 'session.start',
        subjectKind: 'account',
        subjectId: account.id,
      });
    });
    return { token, expiresAt };
  }

  async signOut(token: string): Promise<void> {
    await this.units.run((manager) => manager.delete(Session, { tokenHash: tokenHash(token) }));
  }

  /** The person behind a cookie's token, or undefined when it is unknown, over or the account closed. */
  async whoIs(token: string): Promise<Principal | undefined> {
    const session = await this.reader.manager.findOneBy(Session, { tokenHash: tokenHash(token) });
    if (!session || session.expiresAt <= this.clock.now()) return undefined;
    const account = await this.reader.manager.findOneBy(Account, { id: session.accountId });
    if (!account?.active) return undefined;
    return { accountId: account.id, name: account.name, email: account.email, role: account.role };
  }

  async addAccount(manager: EntityManager, input: NewAccount): Promise<Account> {
    const account = manager.create(Account, {
      id: newId(),
      email: input.email.trim().toLowerCase(),
      name: input.name,
      role: input.role,
      passwordHash: input.passwordHash,
      active: true,
    });
    await manager.insert(Account, account);
    await this.audit.record(manager, SYSTEM, {
      action: 'account.add',
      subjectKind: 'account',
      subjectId: account.id,
    });
    return account;
  }
}

/** Throws ACCOUNT.PASSWORD_SHORT below ten characters (NIST SP 800-63B asks for at least eight). */
export function requirePassword(password: string): void {
  if (password.length < SHORTEST_PASSWORD) {
    throw DomainError.invalid(
      'ACCOUNT.PASSWORD_SHORT',
      'password',
      `A password needs at least ${SHORTEST_PASSWORD} characters.`,
    );
  }
}
