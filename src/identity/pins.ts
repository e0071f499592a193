import { Injectable } from '@nestjs/common';
import { Clock, DomainError } from '../base/index.js';
import { Reader, Shared, UnitOfWork } from '../store/index.js';
import { roleByPin } from './access.js';
import type { Actor } from './actor.js';
import { Audit } from './audit.js';
import { Account, Session } from './entities.js';
import { passwordMatches } from './passwords.js';
import { Sessions, type StartedSession } from './sessions.js';
import { WrongPins } from './wrong-pins.js';

/** Wrong PINs after which the desk device must be made one anew by password. */
const MOST_WRONG = 5;

export type DeskPerson = { readonly id: string; readonly name: string };

/**
 * Quick switching of people at a shared desk device: it is made one by a person who signed in by password, has no
 * rights of its own, and lets those who have a PIN in for half an hour, without the owner's rights.
 */
@Injectable()
export class Pins {
  private readonly wrong: WrongPins;

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly sessions: Sessions,
    private readonly audit: Audit,
    shared: Shared,
  ) {
    this.wrong = new WrongPins(shared);
  }

  async makeDesk(actor: Actor & { accountId: string }, agent?: string): Promise<StartedSession> {
    return await this.units.run(async (manager) => {
      const started = await this.sessions.start(manager, {
        accountId: actor.accountId,
        kind: 'desk',
        address: actor.address,
        agent,
      });
      await this.audit.record(manager, actor, {
        action: 'session.desk',
        subjectKind: 'account',
        subjectId: actor.accountId,
      });
      return started;
    });
  }

  /** Who can switch at this desk, by name; undefined when the device is no desk (any more). */
  async people(deskToken: string): Promise<DeskPerson[] | undefined> {
    if (!(await this.desk(deskToken))) return undefined;
    const accounts = await this.reader.manager.find(Account, {
      where: { active: true },
      order: { name: 'ASC', id: 'ASC' },
    });
    return accounts.filter(({ pinHash }) => pinHash).map(({ id, name }) => ({ id, name }));
  }

  /** Throws PIN.NO_DESK, PIN.REFUSED; the fifth wrong PIN in a row ends the desk. */
  async switchTo(
    deskToken: string,
    accountId: string,
    pin: string,
    from: { readonly address?: string; readonly agent?: string | undefined },
  ): Promise<StartedSession> {
    const desk = await this.desk(deskToken);
    if (!desk) throw noDesk();
    // Counted before the PIN is looked at, so that many at once get no free guesses.
    const attempts = await this.wrong.count(desk.id);
    const account = await this.reader.manager.findOneBy(Account, { id: accountId });
    const right =
      attempts <= MOST_WRONG && account?.active && account.pinHash
        ? await passwordMatches(account.pinHash, pin)
        : false;
    if (!account || !right) return await this.refuse(desk, account, attempts, from.address);
    await this.wrong.forget(desk.id);
    return await this.units.run(async (manager) => {
      const started = await this.sessions.start(manager, {
        accountId,
        kind: 'pin',
        deskId: desk.id,
        ...from,
      });
      const { address } = from;
      await this.audit.record(
        manager,
        { accountId, role: roleByPin(account.role), ...(address && { address }) },
        { action: 'session.start', subjectKind: 'account', subjectId: accountId, details: { kind: 'pin' } },
      );
      return started;
    });
  }

  private async refuse(
    desk: Session,
    account: Account | null,
    attempts: number,
    address: string | undefined,
  ): Promise<never> {
    const over = attempts >= MOST_WRONG;
    await this.units.run(async (manager) => {
      if (over) {
        await manager.delete(Session, { deskId: desk.id });
        await manager.delete(Session, { id: desk.id });
      }
      await this.audit.record(
        manager,
        { accountId: null, role: 'system', ...(address && { address }) },
        {
          action: 'session.refuse',
          subjectKind: 'account',
          subjectId: account?.id ?? null,
          details: { kind: 'pin', deskEnded: over },
        },
      );
    });
    if (!over) {
      throw new DomainError('refused', 'PIN.REFUSED', 'That PIN is not right. Please try again.', [
        { field: 'pin', message: 'PIN: this is not the right one.' },
      ]);
    }
    await this.wrong.forget(desk.id);
    throw noDesk('There were too many wrong PINs. Please sign in with a password.');
  }

  private async desk(token: string): Promise<Session | undefined> {
    const session = await this.sessions.standing(token);
    if (session?.kind !== 'desk' || session.expiresAt <= this.clock.now()) return undefined;
    const account = await this.reader.manager.findOneBy(Account, { id: session.accountId });
    return account?.active ? session : undefined;
  }
}

function noDesk(
  words = 'This device is no shared desk (any more). Please sign in with a password.',
): DomainError {
  return new DomainError('refused', 'PIN.NO_DESK', words);
}
