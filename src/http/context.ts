import { createParamDecorator, type ExecutionContext, SetMetadata } from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import type { Action, Actor, Principal } from '../identity/index.js';

declare module 'fastify' {
  interface FastifyRequest {
    /** Who is signed in; unset on open routes. */
    principal?: Principal;
    /** Token of the session, from the cookie or the Authorization header. */
    sessionToken?: string;
  }
}

export const NEEDS = 'halfinch:needs';
export const OPEN = 'open';

/** The action a route needs; AccessGuard refuses whoever may not do it. */
export const Needs = (action: Action) => SetMetadata(NEEDS, action);

/** A route for people who are not signed in. */
export const Open = () => SetMetadata(NEEDS, OPEN);

function request(context: ExecutionContext): FastifyRequest {
  return context.switchToHttp().getRequest<FastifyRequest>();
}

/** The signed-in person; only on routes that need an action. */
export const Who = createParamDecorator((_: unknown, context: ExecutionContext): Principal => {
  const { principal } = request(context);
  if (!principal) throw new Error('A route asks who is signed in but does not need it.');
  return principal;
});

/** The signed-in person as the domain's actor, with the address the request came from. */
export const By = createParamDecorator((_: unknown, context: ExecutionContext): Actor => {
  const { principal, ip } = request(context);
  if (!principal) throw new Error('A route asks who acts but does not need it.');
  const { accountId, role, scopes } = principal;
  return { accountId, role, address: ip, ...(scopes && { scopes }) };
});
