import { createHash, randomBytes } from 'node:crypto';
import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock, DomainError } from '../base/index.js';
import { newId, Reader, Shared, UnitOfWork } from '../store/index.js';
import { roleByPin, type Way } from './access.js';
import { type Actor, SYSTEM } from './actor.js';
import { Audit } from './audit.js';
import { Account, ApiToken, type Role, type SessionKind } from './entities.js';
import { codeStep } from './one-time-code.js';
import { hashPassword, passwordMatches } from './passwords.js';
import { Sessions, type StartedSession } from './sessions.js';
import { SharedSlowdown } from './shared-slowdown.js';
import { tokenHash } from './tokens.js';

export const API_TOKEN_PREFIX = 'hfi_';

const SECOND_MS = 1000;
const MINUTE_MS = 60_000;
const DAY_MS = 24 * 60 * MINUTE_MS;

/** One account from one network address: the strictest, and it locks nobody else out of that account. */
const PAIRS = { free: 5, firstMs: SECOND_MS, mostMs: 15 * MINUTE_MS, forgetMs: DAY_MS };
/** One account from anywhere. */
const ACCOUNTS = { free: 50, firstMs: SECOND_MS, mostMs: MINUTE_MS, forgetMs: DAY_MS };
/** One address on any account; a salon's devices share one. */
const ADDRESSES = { free: 30, firstMs: SECOND_MS, mostMs: 5 * MINUTE_MS, forgetMs: 60 * MINUTE_MS };

/** Somebody who is signed in. */
export type Principal = {
  readonly accountId: string;
  readonly name: string;
  readonly email: string;
  /** What counts now: by PIN an owner has a stylist's. */
  readonly role: Role;
  readonly via: Way;
  /** What an API token was narrowed to. */
  readonly scopes?: readonly string[];
  /** Salon asked for with this request, where there are several; as it was sent. */
  readonly salonId?: string;
};

export type NewAccount = {
  readonly email: string;
  readonly name: string;
  readonly role: Role;
  /** From hashPassword: hashing is slow on purpose and must not hold the writer. */
  readonly passwordHash: string;
};

/** Where an attempt to sign in comes from. */
export type SignInFrom = {
  readonly address?: string | undefined;
  readonly agent?: string | undefined;
  readonly kind?: SessionKind;
  /** One-time code, where the account asks for one. */
  readonly code?: string | undefined;
};

/** An attempt to sign in that has been counted as a failure. */
type Attempt = {
  /** It was none. */
  undo(): Promise<void>;
  /** It was the right person. */
  succeed(): Promise<void>;
};

export function refusedSignIn(): DomainError {
  return new DomainError(
    'refused',
    'SIGN_IN.REFUSED',
    'That address and password do not go together. Please check both.',
  );
}

export function tooSoon(waitMs: number): DomainError {
  const seconds = Math.ceil(waitMs / SECOND_MS);
  const wait = seconds < 90 ? `${seconds} seconds` : `${Math.ceil(seconds / 60)} minutes`;
  return new DomainError(
    'refused',
    'SIGN_IN.SLOW',
    `There were too many wrong attempts. Please wait ${wait} and try again.`,
    [],
    { retryAfterSeconds: seconds },
  );
}

@Injectable()
export class SignIn {
  /** Verified against when the account is unknown, so that its absence takes as long as a wrong password. */
  private readonly decoy = hashPassword(randomBytes(16).toString('hex'));

  private readonly pairs: SharedSlowdown;
  private readonly accounts: SharedSlowdown;
  private readonly addresses: SharedSlowdown;

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly sessions: Sessions,
    shared: Shared = new Shared(),
  ) {
    this.pairs = new SharedSlowdown(shared, 'pairs', PAIRS);
    this.accounts = new SharedSlowdown(shared, 'accounts', ACCOUNTS);
    this.addresses = new SharedSlowdown(shared, 'addresses', ADDRESSES);
  }

  /**
   * Throws SIGN_IN.REFUSED alike for an unknown address, a wrong password, a wrong code and a closed account,
   * SIGN_IN.CODE_NEEDED when all is right but the one-time code is missing, SIGN_IN.SLOW after too many failures.
   */
  async signIn(email: string, password: string, from: SignInFrom = {}): Promise<StartedSession> {
    const account = await this.proven(email, password, from);
    const { address, agent, kind = 'api' } = from;
    const actor: Actor = { accountId: account.id, role: account.role, ...(address && { address }) };
    return await this.units.run(async (manager) => {
      const started = await this.sessions.start(manager, { accountId: account.id, kind, address, agent });
      await this.audit.record(manager, actor, {
        action: 'session.start',
        subjectKind: 'account',
        subjectId: account.id,
        details: { kind, code: Boolean(account.totpSecret) },
      });
      return started;
    });
  }

  async signOut(token: string): Promise<void> {
    await this.sessions.signOut(token);
  }

  /**
   * The person behind a cookie's or a header's token, or undefined when it is unknown, over or the account closed.
   * `used` as in `Sessions.standing`.
   */
  async whoIs(token: string, used = true): Promise<Principal | undefined> {
    if (token.startsWith(API_TOKEN_PREFIX)) return await this.byApiToken(token);
    const session = await this.sessions.standing(token, used);
    // A desk device is nobody until somebody gives a PIN there.
    if (!session || session.kind === 'desk') return undefined;
    const account = await this.reader.manager.findOneBy(Account, { id: session.accountId });
    if (!account?.active) return undefined;
    const byPin = session.kind === 'pin';
    return {
      accountId: account.id,
      name: account.name,
      email: account.email,
      role: byPin ? roleByPin(account.role) : account.role,
      via: byPin ? 'pin' : 'password',
    };
  }

  async addAccount(manager: EntityManager, input: NewAccount, actor: Actor = SYSTEM): Promise<Account> {
    const account = manager.create(Account, {
      id: newId(),
      email: input.email.trim().toLowerCase(),
      name: input.name,
      role: input.role,
      passwordHash: input.passwordHash,
      active: true,
    });
    await manager.insert(Account, account);
    await this.audit.record(manager, actor, {
      action: 'account.add',
      subjectKind: 'account',
      subjectId: account.id,
      details: { role: account.role },
    });
    return account;
  }

  /**
   * Asks for the password again before somebody changes how she gets in. Throws ACCOUNT.PASSWORD_WRONG naming
   * presentPassword, SIGN_IN.SLOW.
   */
  async confirm(principal: Principal, password: string, address?: string): Promise<void> {
    const { account, attempt } = await this.matching(principal.email, password, address ?? '');
    if (!account) {
      await this.recordRefusal(principal.accountId, { address });
      throw DomainError.invalid(
        'ACCOUNT.PASSWORD_WRONG',
        'presentPassword',
        'Present password: this is not the one you signed in with.',
      );
    }
    await attempt.succeed();
  }

  private async proven(email: string, password: string, from: SignInFrom): Promise<Account> {
    const { account, known, attempt } = await this.matching(email, password, from.address ?? '');
    if (!account) {
      await this.recordRefusal(known, from);
      throw refusedSignIn();
    }
    if (account.totpSecret) {
      if (!from.code) {
        await attempt.undo();
        throw new DomainError(
          'refused',
          'SIGN_IN.CODE_NEEDED',
          'Please enter the six digits that your authenticator shows now as well.',
        );
      }
      await this.spendCode(account, from);
    }
    await attempt.succeed();
    return account;
  }

  /** The account when address and password go together; `known` is the address's account in any case. */
  private async matching(email: string, password: string, address: string) {
    const name = email.trim().toLowerCase();
    const attempt = await this.begin(name, address);
    const account = await this.reader.manager.findOneBy(Account, { email: name });
    const matches = await passwordMatches(account?.passwordHash ?? (await this.decoy), password);
    return { account: account?.active && matches ? account : null, known: account?.id ?? null, attempt };
  }

  private async byApiToken(token: string): Promise<Principal | undefined> {
    const row = await this.reader.manager.findOneBy(ApiToken, { tokenHash: tokenHash(token) });
    if (!row || row.endedAt || row.expiresAt <= this.clock.now()) return undefined;
    const account = await this.reader.manager.findOneBy(Account, { id: row.accountId });
    if (!account?.active) return undefined;
    const { id, name, email, role } = account;
    return { accountId: id, name, email, role, via: 'token', scopes: row.scopes };
  }

  /** Counts the attempt before it is looked at, or throws SIGN_IN.SLOW. */
  private async begin(name: string, address: string): Promise<Attempt> {
    // Names are hashed: this is not the place to keep whatever people type into an address field.
    const key = createHash('sha256').update(name).digest('base64');
    const counted: [SharedSlowdown, string][] = [
      [this.pairs, `${key} ${address}`],
      [this.accounts, key],
      [this.addresses, address],
    ];
    const now = this.clock.now();
    for (const [i, [slowdown, tally]] of counted.entries()) {
      const waitMs = await slowdown.begin(tally, now);
      if (waitMs === 0) continue;
      for (const [other, its] of counted.slice(0, i)) await other.undo(its);
      throw tooSoon(waitMs);
    }
    const undo = async () => {
      for (const [slowdown, tally] of counted) await slowdown.undo(tally);
    };
    return {
      undo,
      succeed: async () => {
        await undo();
        await this.pairs.clear(`${key} ${address}`);
      },
    };
  }

  /** A code is good once: its step is kept, under the writer, so that two at once cannot both use it. */
  private async spendCode(account: Account, from: SignInFrom): Promise<void> {
    const spent = await this.units.run(async (manager) => {
      const row = await manager.findOneByOrFail(Account, { id: account.id });
      const step = codeStep(row.totpSecret ?? '', from.code ?? '', this.clock.now(), row.totpStep ?? null);
      if (step === undefined) return false;
      await manager.update(Account, { id: row.id }, { totpStep: step });
      return true;
    });
    if (spent) return;
    await this.recordRefusal(account.id, from);
    throw refusedSignIn();
  }

  /** Written for unknown names too, and of the same size: neither the trail nor the time tells who exists. */
  private async recordRefusal(accountId: string | null, { address }: SignInFrom): Promise<void> {
    await this.units.run((manager) =>
      this.audit.record(
        manager,
        { ...SYSTEM, ...(address && { address }) },
        {
          action: 'session.refuse',
          subjectKind: 'account',
          subjectId: accountId,
        },
      ),
    );
  }
}
