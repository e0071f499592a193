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

/** Who is signed in; only on routes that need an action. */
export function principalOf({ principal }: FastifyRequest): Principal {
  if (!principal) throw new Error('A route asks who is signed in but does not need it.');
  return principal;
}

/** The signed-in person as the domain's actor, with the address the request came from. */
export function actorOf(request: FastifyRequest): Actor {
  const { accountId, role, scopes } = principalOf(request);
  return { accountId, role, address: request.ip, ...(scopes && { scopes }) };
}

function requestOf(context: ExecutionContext): FastifyRequest {
  return context.switchToHttp().getRequest<FastifyRequest>();
}

/** The signed-in person, for routes of the API. */
export const Who = createParamDecorator((_: unknown, context: ExecutionContext) =>
  principalOf(requestOf(context)),
);

/** The signed-in person as the domain's actor, for routes of the API. */
export const By = createParamDecorator((_: unknown, context: ExecutionContext) =>
  actorOf(requestOf(context)),
);
