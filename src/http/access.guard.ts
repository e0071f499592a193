import { type CanActivate, type ExecutionContext, Injectable, Logger } from '@nestjs/common';
import { Reflector } from '@nestjs/core';
import type { FastifyRequest } from 'fastify';
import { DomainError } from '../base/index.js';
import { type Action, permits } from '../identity/index.js';
import { NEEDS, OPEN } from './context.js';

/** Holds every route to the action it declares. A route without one is refused to everybody. */
@Injectable()
export class AccessGuard implements CanActivate {
  private readonly log = new Logger('access');

  constructor(private readonly reflector: Reflector) {}

  canActivate(context: ExecutionContext): boolean {
    const need = this.reflector.getAllAndOverride<Action | typeof OPEN | undefined>(NEEDS, [
      context.getHandler(),
      context.getClass(),
    ]);
    if (need === OPEN) return true;
    const request = context.switchToHttp().getRequest<FastifyRequest>();
    const { principal } = request;
    if (!principal) {
      throw new DomainError('forbidden', 'SIGN_IN.NEEDED', 'Please sign in first.');
    }
    // Tokens are for programs: pages show more than one action's worth.
    const astray = principal.via === 'token' && !request.url.startsWith('/api/');
    if (need === undefined || astray || !permits(principal, need)) {
      this.log.warn(
        `${request.id} Refused ${request.method} ${request.routeOptions.url ?? '?'} to account ${principal.accountId} ` +
          `(${principal.role}, by ${principal.via}) from ${request.ip}`,
      );
      throw new DomainError('forbidden', 'ACCESS.REFUSED', refusal(principal.via));
    }
    return true;
  }
}

function refusal(via: 'password' | 'pin' | 'token'): string {
  if (via === 'pin') return 'This needs your password: sign out and sign in with it.';
  if (via === 'token') return 'This token was not given that right.';
  return 'Your role does not include this. The owner can do it, or give you another role.';
}
