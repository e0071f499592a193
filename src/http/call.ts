import { createParamDecorator, type ExecutionContext, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import type { Actor, Principal } from '../identity/index.js';
import { actorOf, principalOf } from './context.js';

/** One request to a page and the answer to it, with who asks. */
export class Call {
  constructor(
    readonly request: FastifyRequest,
    readonly reply: FastifyReply,
  ) {}

  /** The signed-in person; only on routes that need an action. */
  get principal(): Principal {
    return principalOf(this.request);
  }

  /** The signed-in person as the domain's actor, with the address the request came from. */
  get actor(): Actor {
    return actorOf(this.request);
  }

  /** Sets the status of the answer. */
  status(code: number): this {
    void this.reply.status(code);
    return this;
  }

  /** Answers with another page, which the browser gets (303 See Other). */
  async redirectTo(path: string): Promise<void> {
    await this.reply.redirect(path, 303);
  }
}

const called = createParamDecorator((_: unknown, context: ExecutionContext): Call => {
  const http = context.switchToHttp();
  return new Call(http.getRequest<FastifyRequest>(), http.getResponse<FastifyReply>());
});

/** The `Call` that a page answers itself: what the method returns is not sent. */
export const Called = (): ParameterDecorator => (target, key, index) => {
  // Only @Res() keeps Nest from sending what is returned; of two for one parameter the later one fills it.
  Res()(target, key, index);
  called()(target, key, index);
};
