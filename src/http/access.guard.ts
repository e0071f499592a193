import { type CanActivate, type ExecutionContext, Injectable } from '@nestjs/common';
import { Reflector } from '@nestjs/core';
import type { FastifyRequest } from 'fastify';
import { DomainError } from '../base/index.js';
import { type Action, may } from '../identity/index.js';
import { NEEDS, OPEN } from './context.js';

/** Holds every route to the action it declares. A route without one is refused to everybody. */
@Injectable()
export class AccessGuard implements CanActivate {
  constructor(private readonly reflector: Reflector) {}

  canActivate(context: ExecutionContext): boolean {
    const need = this.reflector.getAllAndOverride<Action | typeof OPEN | undefined>(NEEDS, [
      context.getHandler(),
      context.getClass(),
    ]);
    if (need === OPEN) return true;
    const { principal } = context.switchToHttp().getRequest<FastifyRequest>();
    if (!principal) {
      throw new DomainError('forbidden', 'SIGN_IN.NEEDED', 'Please sign in first.');
    }
    if (need === undefined || !may(principal.role, need)) {
      throw new DomainError('forbidden', 'ACCESS.REFUSED', 'Your role does not include this.');
    }
    return true;
  }
}
