import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';
import { Inject, Injectable } from '@nestjs/common';
import { DomainError, validated } from '../base/index.js';
import { derivedSecret, Reader, SETTINGS, type Settings, Shared, UnitOfWork } from '../store/index.js';
import { SYSTEM } from './actor.js';
import { FirstOwnerInput } from './dto.js';
import { Account } from './entities.js';
import { hashPassword, requirePassword } from './passwords.js';
import { SharedSlowdown } from './shared-slowdown.js';
import { SignIn, tooSoon } from './sign-in.js';

/** 32 of them, without letters and digits that look alike. */
const CODE_SIGNS = 'ABCDEFGHJKLMNPQRSTUVWXYZ23456789';
const CODE_LENGTH = 12;

function codeFrom(bytes: Buffer): string {
  const signs = [...bytes.subarray(0, CODE_LENGTH)].map((byte) => CODE_SIGNS[byte % CODE_SIGNS.length]);
  return signs.join('').replace(/(.{4})(?=.)/g, '$1-');
}

const digest = (text: string) => createHash('sha256').update(text).digest();

/**
 * The very first account. There is no default password: whoever sets it up must read a code from the log of the
 * process, so that not just anybody who finds a fresh installation owns it.
 */
@Injectable()
export class FirstOwner {
  /** Sixty bits: of the installation's secret, so that all its processes ask for the same, else new with every start. */
  readonly code: string;
  private readonly slowdown: SharedSlowdown;

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly signIn: SignIn,
    @Inject(SETTINGS) { secret }: Settings,
    shared: Shared,
  ) {
    this.code = codeFrom(
      secret === undefined ? randomBytes(CODE_LENGTH) : derivedSecret(secret, 'set-up code'),
    );
    this.slowdown = new SharedSlowdown(shared, 'set-up', {
      free: 10,
      firstMs: 1000,
      mostMs: 60_000,
      forgetMs: 3_600_000,
    });
  }

  /** Whether nobody has an account yet. */
  async isNeeded(): Promise<boolean> {
    return (await this.reader.manager.count(Account, { take: 1 })) === 0;
  }

  /** Checks everything but makes nothing. Throws INPUT.INVALID, SET_UP.CODE, SET_UP.DONE, ACCOUNT.PASSWORD_*. */
  async check(input: unknown, now: number): Promise<FirstOwnerInput> {
    const checked = await validated(FirstOwnerInput, input);
    if (!(await this.isNeeded())) throw done();
    const waitMs = await this.slowdown.begin('code', now);
    if (waitMs > 0) throw tooSoon(waitMs);
    const given = checked.code.toUpperCase().replace(/[^A-Z0-9]/g, '');
    if (!timingSafeEqual(digest(given), digest(this.code.replaceAll('-', '')))) {
      throw DomainError.invalid(
        'SET_UP.CODE',
        'code',
        'Set-up code: this is not the one that Halfinch wrote to its log when it last started.',
      );
    }
    await this.slowdown.clear('code');
    requirePassword(checked.password, [checked.name, checked.email]);
    return checked;
  }

  /** Makes the owner; of two at once the second is refused. Throws as `check` does. */
  async make(input: unknown, now: number): Promise<Account> {
    const { email, name, password } = await this.check(input, now);
    const passwordHash = await hashPassword(password);
    return await this.units.run(async (manager) => {
      if ((await manager.count(Account)) > 0) throw done();
      return await this.signIn.addAccount(manager, { email, name, role: 'owner', passwordHash }, SYSTEM);
    });
  }
}

function done(): DomainError {
  return new DomainError('refused', 'SET_UP.DONE', 'There is an account already. Please sign in.');
}
