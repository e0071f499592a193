import { Injectable } from '@nestjs/common';
import { Clock, DomainError, validated } from '../base/index.js';
import { Reader, UnitOfWork } from '../store/index.js';
import { AccountMail } from './account-mail.js';
import type { Actor } from './actor.js';
import { Audit } from './audit.js';
import { CodesOnInput, NewAccountInput, PasswordChangeInput, PinInput, PresentPasswordInput } from './dto.js';
import { Account, ApiToken, type Role } from './entities.js';
import { codeStep } from './one-time-code.js';
import { PasswordLinks } from './password-links.js';
import { hashPassword, requirePassword } from './passwords.js';
import { Sessions } from './sessions.js';
import { type Principal, SignIn } from './sign-in.js';
import { newToken } from './tokens.js';

/** An account as people see it: nothing that lets in. */
export type AccountLine = {
  readonly id: string;
  readonly email: string;
  readonly name: string;
  readonly role: Role;
  readonly active: boolean;
  readonly hasCodes: boolean;
  readonly hasPin: boolean;
};

function line(account: Account): AccountLine {
  const { id, email, name, role, active, totpSecret, pinHash } = account;
  return { id, email, name, role, active, hasCodes: Boolean(totpSecret), hasPin: Boolean(pinHash) };
}

const RUNS = '01234567890 09876543210';

function requirePin(pin: string): void {
  if (new Set(pin).size === 1 || RUNS.includes(pin)) {
    throw DomainError.invalid(
      'ACCOUNT.PIN_EASY',
      'pin',
      'PIN: choose digits that are not all alike or in a row.',
    );
  }
}

/** Changes to accounts: one's own, after giving the password again, and other people's by the owner. */
@Injectable()
export class Accounts {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly signIn: SignIn,
    private readonly sessions: Sessions,
    private readonly links: PasswordLinks,
    private readonly mail: AccountMail,
  ) {}

  /** Throws ACCOUNT.NOT_FOUND. */
  async get(id: string): Promise<AccountLine> {
    const account = await this.reader.manager.findOneBy(Account, { id });
    if (!account) throw DomainError.notFound('ACCOUNT.NOT_FOUND', 'account');
    return line(account);
  }

  /** By name, closed ones last. */
  async list(): Promise<AccountLine[]> {
    const accounts = await this.reader.manager.find(Account, {
      order: { active: 'DESC', name: 'ASC', id: 'ASC' },
    });
    return accounts.map(line);
  }

  /**
   * Every other session of the account ends. Throws INPUT.INVALID, ACCOUNT.PASSWORD_WRONG, PASSWORD_SHORT,
   * PASSWORD_OBVIOUS, SIGN_IN.SLOW.
   */
  async changePassword(principal: Principal, input: unknown, actor: Actor, keepToken: string): Promise<void> {
    const { presentPassword, password } = await validated(PasswordChangeInput, input);
    await this.signIn.confirm(principal, presentPassword, actor.address);
    requirePassword(password, [principal.name, principal.email]);
    const passwordHash = await hashPassword(password);
    await this.changeOwn(principal, actor, { passwordHash }, 'account.password', keepToken);
  }

  /** Throws ACCOUNT.CODE_WRONG when the authenticator does not show the code for this secret. */
  async codesOn(principal: Principal, input: unknown, actor: Actor, keepToken: string): Promise<void> {
    const { presentPassword, secret, code } = await validated(CodesOnInput, input);
    await this.signIn.confirm(principal, presentPassword, actor.address);
    const step = codeStep(secret, code, this.clock.now(), null);
    if (step === undefined) {
      throw DomainError.invalid(
        'ACCOUNT.CODE_WRONG',
        'code',
        'Code: these are not the six digits that the authenticator shows now. Check its clock and try again.',
      );
    }
    await this.changeOwn(
      principal,
      actor,
      { totpSecret: secret, totpStep: step },
      'account.codes-on',
      keepToken,
    );
  }

  async codesOff(principal: Principal, input: unknown, actor: Actor, keepToken: string): Promise<void> {
    const { presentPassword } = await validated(PresentPasswordInput, input);
    await this.signIn.confirm(principal, presentPassword, actor.address);
    await this.changeOwn(
      principal,
      actor,
      { totpSecret: null, totpStep: null },
      'account.codes-off',
      keepToken,
    );
  }

  /** Sets the PIN for switching at a shared desk, or takes it away. Throws ACCOUNT.PIN_EASY. */
  async setPin(principal: Principal, input: unknown, actor: Actor): Promise<void> {
    const { presentPassword, pin } = await validated(PinInput, input);
    await this.signIn.confirm(principal, presentPassword, actor.address);
    if (pin) requirePin(pin);
    const pinHash = pin ? await hashPassword(pin) : null;
    await this.changeOwn(principal, actor, { pinHash }, 'account.pin');
  }

  /**
   * Adds an account whose password its person sets by a link; the link is sent by mail and returned. Throws
   * INPUT.INVALID, ACCOUNT.EMAIL_TAKEN.
   */
  async invite(input: unknown, actor: Actor): Promise<{ account: AccountLine; link: string }> {
    const { email, name, role } = await validated(NewAccountInput, input);
    // Nobody knows this password: the link sets the first one.
    const passwordHash = await hashPassword(newToken());
    const made = await this.units.run(async (manager) => {
      if (await manager.existsBy(Account, { email: email.toLowerCase() })) {
        throw new DomainError(
          'conflict',
          'ACCOUNT.EMAIL_TAKEN',
          'E-mail address: there is an account with this address already.',
          [{ field: 'email', message: 'E-mail address: there is an account with this address already.' }],
        );
      }
      const account = await this.signIn.addAccount(manager, { email, name, role, passwordHash }, actor);
      return { account, link: await this.links.make(manager, account, 'invited', actor) };
    });
    return { account: line(made.account), link: made.link };
  }

  /** A fresh link for somebody who lost password or authenticator's letter. Throws ACCOUNT.NOT_FOUND. */
  async newLink(id: string, actor: Actor): Promise<string> {
    return await this.units.run(async (manager) => {
      const account = await manager.findOneBy(Account, { id, active: true });
      if (!account) throw DomainError.notFound('ACCOUNT.NOT_FOUND', 'account');
      return await this.links.make(manager, account, 'invited', actor);
    });
  }

  /** Closes an account, its sessions and tokens, or opens it again. Throws ACCOUNT.LAST_OWNER, ACCOUNT.NOT_FOUND. */
  async setActive(id: string, active: boolean, actor: Actor): Promise<void> {
    await this.units.run(async (manager) => {
      const account = await manager.findOneBy(Account, { id });
      if (!account) throw DomainError.notFound('ACCOUNT.NOT_FOUND', 'account');
      const owners = await manager.countBy(Account, { role: 'owner', active: true });
      if (!active && account.active && account.role === 'owner' && owners < 2) {
        throw new DomainError(
          'refused',
          'ACCOUNT.LAST_OWNER',
          'This is the only owner: make somebody else an owner first.',
        );
      }
      await manager.update(Account, { id }, { active });
      if (!active) {
        await this.sessions.endAll(manager, id, actor);
        await manager.delete(ApiToken, { accountId: id });
      }
      await this.audit.record(manager, actor, {
        action: active ? 'account.open' : 'account.close',
        subjectKind: 'account',
        subjectId: id,
      });
    });
  }

  /** Takes the one-time codes off somebody's account who lost the authenticator, and ends her sessions. */
  async dropCodes(id: string, actor: Actor): Promise<void> {
    await this.units.run(async (manager) => {
      const { affected } = await manager.update(Account, { id }, { totpSecret: null, totpStep: null });
      if (!affected) throw DomainError.notFound('ACCOUNT.NOT_FOUND', 'account');
      await this.sessions.endAll(manager, id, actor);
      await this.audit.record(manager, actor, {
        action: 'account.codes-off',
        subjectKind: 'account',
        subjectId: id,
        details: { by: 'owner' },
      });
    });
  }

  /** Ends all sessions of an account. */
  async endSessions(id: string, actor: Actor): Promise<void> {
    await this.get(id);
    await this.units.run((manager) => this.sessions.endAll(manager, id, actor));
  }

  private async changeOwn(
    principal: Principal,
    actor: Actor,
    change: Partial<Pick<Account, 'passwordHash' | 'totpSecret' | 'totpStep' | 'pinHash'>>,
    action: string,
    keepToken?: string,
  ): Promise<void> {
    const id = principal.accountId;
    await this.units.run(async (manager) => {
      await manager.update(Account, { id }, change);
      if (keepToken !== undefined) await this.sessions.endAll(manager, id, actor, keepToken);
      await this.audit.record(manager, actor, { action, subjectKind: 'account', subjectId: id });
    });
    void this.tell(principal, action);
  }

  /** Tells the person by mail that her way in was changed; a letter that cannot be sent stops nothing. */
  private async tell({ name, email }: Principal, action: string): Promise<void> {
    const what = CHANGES[action];
    if (!what) return;
    const text = `Hello ${name},\n\n${what} for your Halfinch account. If it was not you, tell the owner at once.`;
    await this.mail
      .post({ to: { name, address: email }, subject: 'Your way in was changed', text })
      .catch(() => undefined);
  }
}

const CHANGES: Readonly<Record<string, string>> = {
  'account.password': 'the password was changed',
  'account.codes-on': 'one-time codes were switched on',
  'account.codes-off': 'one-time codes were switched off',
  'account.pin': 'the PIN for the shared desk was changed',
};
