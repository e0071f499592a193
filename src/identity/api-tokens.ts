import { Injectable } from '@nestjs/common';
import { IsNull } from 'typeorm';
import { Clock, DomainError, validated } from '../base/index.js';
import { newId, Reader, UnitOfWork } from '../store/index.js';
import { may } from './access.js';
import type { Actor } from './actor.js';
import { Audit } from './audit.js';
import { NewTokenInput } from './dto.js';
import { ApiToken } from './entities.js';
import { API_TOKEN_PREFIX, type Principal } from './sign-in.js';
import { newToken, tokenHash } from './tokens.js';

const DAY_MS = 86_400_000;

/** A token as its owner sees it; the token itself is never seen again. */
export type TokenLine = Pick<ApiToken, 'id' | 'name' | 'scopes' | 'madeAt' | 'expiresAt'>;

@Injectable()
export class ApiTokens {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
  ) {}

  /**
   * Makes a token and returns it for the only time. Throws INPUT.INVALID, TOKEN.SCOPES for a scope that the account's
   * own role does not include.
   */
  async make(
    input: unknown,
    principal: Principal,
    actor: Actor,
  ): Promise<TokenLine & { readonly token: string }> {
    const { name, scopes, days } = await validated(NewTokenInput, input);
    const beyond = scopes.filter((scope) => !may(principal.role, scope));
    if (beyond.length > 0) {
      throw DomainError.invalid(
        'TOKEN.SCOPES',
        'scopes',
        `Scopes: your role does not include ${beyond.join(', ')}. Leave these out.`,
      );
    }
    const token = newToken(API_TOKEN_PREFIX);
    const now = this.clock.now();
    const line = { id: newId(), name, scopes: [...scopes], madeAt: now, expiresAt: now + days * DAY_MS };
    await this.units.run(async (manager) => {
      await manager.insert(ApiToken, {
        ...line,
        accountId: principal.accountId,
        tokenHash: tokenHash(token),
        endedAt: null,
      });
      await this.audit.record(manager, actor, {
        action: 'token.make',
        subjectKind: 'account',
        subjectId: principal.accountId,
        details: { tokenId: line.id, scopes: scopes.join(' ') },
      });
    });
    return { ...line, token };
  }

  /** Tokens that still let in, newest first. */
  async ofAccount(accountId: string): Promise<TokenLine[]> {
    const now = this.clock.now();
    const tokens = await this.reader.manager.find(ApiToken, {
      where: { accountId, endedAt: IsNull() },
      order: { madeAt: 'DESC', id: 'DESC' },
    });
    return tokens
      .filter(({ expiresAt }) => expiresAt > now)
      .map(({ id, name, scopes, madeAt, expiresAt }) => ({ id, name, scopes, madeAt, expiresAt }));
  }

  /** Throws TOKEN.NOT_FOUND, also for somebody else's. */
  async end(accountId: string, id: string, actor: Actor): Promise<void> {
    await this.units.run(async (manager) => {
      const { affected } = await manager.update(
        ApiToken,
        { id, accountId, endedAt: IsNull() },
        { endedAt: this.clock.now() },
      );
      if (!affected) throw DomainError.notFound('TOKEN.NOT_FOUND', 'API token');
      await this.audit.record(manager, actor, {
        action: 'token.end',
        subjectKind: 'account',
        subjectId: accountId,
        details: { tokenId: id },
      });
    });
  }
}
