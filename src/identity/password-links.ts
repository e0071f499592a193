import { Inject, Injectable, Logger } from '@nestjs/common';
import { type EntityManager, IsNull } from 'typeorm';
import { Clock, DomainError } from '../base/index.js';
import { newId, Reader, SETTINGS, type Settings, Shared, UnitOfWork } from '../store/index.js';
import { AccountMail } from './account-mail.js';
import { type Actor, SYSTEM } from './actor.js';
import { Audit } from './audit.js';
import { Account, PasswordLink } from './entities.js';
import { hashPassword, requirePassword } from './passwords.js';
import { Sessions } from './sessions.js';
import { SharedSlowdown } from './shared-slowdown.js';
import { newToken, tokenHash } from './tokens.js';

const MINUTE_MS = 60_000;
/** Sent to an address that may be read on a telephone hours later; long enough for that, no longer. */
const ASKED_MS = 60 * MINUTE_MS;
/** A new colleague may take a day or two to look. */
const INVITED_MS = 3 * 24 * 60 * MINUTE_MS;

/** Links by which a password is set: forgotten ones, and the first one of a new account. */
@Injectable()
export class PasswordLinks {
  private readonly log = new Logger('PasswordLinks');
  /** Letters to one address: a few, then ever fewer. */
  private readonly letters: SharedSlowdown;

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly sessions: Sessions,
    private readonly mail: AccountMail,
    @Inject(SETTINGS) private readonly settings: Settings,
    shared: Shared = new Shared(),
  ) {
    this.letters = new SharedSlowdown(shared, 'letters', {
      free: 3,
      firstMs: 5 * MINUTE_MS,
      mostMs: 60 * MINUTE_MS,
      forgetMs: 24 * 60 * MINUTE_MS,
    });
  }

  /**
   * Sends a link if the address is an account's. Resolves at once and alike whether it is or not; the returned
   * `done` is for tests.
   */
  ask(email: string, address?: string): { readonly done: Promise<void> } {
    const done = this.send(email.trim().toLowerCase(), address).catch((error: unknown) => {
      this.log.error('A letter with a password link could not be sent.', (error as Error).stack);
    });
    return { done };
  }

  private async send(email: string, address: string | undefined): Promise<void> {
    if ((await this.letters.begin(email, this.clock.now())) > 0) return;
    const account = await this.reader.manager.findOneBy(Account, { email, active: true });
    if (!account) return;
    const actor = { ...SYSTEM, ...(address && { address }) };
    const url = await this.units.run((manager) => this.make(manager, account, 'asked', actor));
    await this.mail.post({
      to: { name: account.name, address: account.email },
      subject: 'Set a new password',
      text: [
        `Hello ${account.name},`,
        '',
        'somebody, probably you, asked for a new password for Halfinch. Within the next hour you can set it here:',
        '',
        url,
        '',
        'If it was not you, leave this letter alone: your password stays as it is.',
      ].join('\n'),
    });
  }

  /** Makes a link that is good once; earlier ones of the account are void. */
  async make(
    manager: EntityManager,
    account: Account,
    why: 'asked' | 'invited',
    actor: Actor,
  ): Promise<string> {
    const token = newToken();
    const now = this.clock.now();
    await manager.update(PasswordLink, { accountId: account.id, usedAt: IsNull() }, { usedAt: now });
    await manager.insert(PasswordLink, {
      id: newId(),
      tokenHash: tokenHash(token),
      accountId: account.id,
      madeAt: now,
      expiresAt: now + (why === 'asked' ? ASKED_MS : INVITED_MS),
      usedAt: null,
    });
    await this.audit.record(manager, actor, {
      action: 'account.password-link',
      subjectKind: 'account',
      subjectId: account.id,
      details: { why },
    });
    return `${this.settings.publicUrl}/new-password?link=${token}`;
  }

  /** Whether the link may still be used. */
  async stands(token: string): Promise<boolean> {
    return (await this.account(this.reader.manager, token)) !== null;
  }

  /**
   * Sets the password, voids the link and ends every session of the account; one-time codes stay asked for.
   * Throws PASSWORD_LINK.VOID, ACCOUNT.PASSWORD_SHORT, ACCOUNT.PASSWORD_OBVIOUS.
   */
  async use(token: string, password: string, address?: string): Promise<void> {
    const known = await this.account(this.reader.manager, token);
    if (!known) throw voidLink();
    requirePassword(password, [known.name, known.email]);
    const passwordHash = await hashPassword(password);
    await this.units.run(async (manager) => {
      const account = await this.account(manager, token);
      if (!account) throw voidLink();
      const actor: Actor = { accountId: account.id, role: account.role, ...(address && { address }) };
      await manager.update(PasswordLink, { tokenHash: tokenHash(token) }, { usedAt: this.clock.now() });
      await manager.update(Account, { id: account.id }, { passwordHash });
      await this.sessions.endAll(manager, account.id, actor);
      await this.audit.record(manager, actor, {
        action: 'account.password',
        subjectKind: 'account',
        subjectId: account.id,
        details: { by: 'link' },
      });
    });
  }

  private async account(manager: EntityManager, token: string): Promise<Account | null> {
    const link = await manager.findOneBy(PasswordLink, { tokenHash: tokenHash(token), usedAt: IsNull() });
    if (!link || link.expiresAt <= this.clock.now()) return null;
    return await manager.findOneBy(Account, { id: link.accountId, active: true });
  }
}

function voidLink(): DomainError {
  return new DomainError(
    'refused',
    'PASSWORD_LINK.VOID',
    'This link has been used or is too old. Please ask for a new one.',
  );
}
