import { type ArgumentsHost, Catch, type ExceptionFilter, Logger } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Call } from './call.js';
import { GivenBefore } from './idempotency.js';
import { renderPage } from './pages.js';
import { problemOf } from './problem.js';
import { problemType } from './problem-types.js';

/** Answers every error: problem+json (RFC 9457) under /api, a page elsewhere. */
@Catch()
export class ErrorFilter implements ExceptionFilter {
  private readonly logger = new Logger('http');

  async catch(error: unknown, host: ArgumentsHost): Promise<void> {
    const http = host.switchToHttp();
    const request = http.getRequest<FastifyRequest>();
    const reply = http.getResponse<FastifyReply>();
    if (error instanceof GivenBefore) {
      const { status, headers, body } = error.answer;
      await reply.status(status).headers(headers).header('idempotency-replayed', 'true').send(body);
      return;
    }
    const problem = problemOf(error);
    if (problem.status >= 500) {
      const cause = error instanceof Error ? (error.stack ?? error.message) : String(error);
      this.logger.error(`${request.id} ${request.method} ${request.routeOptions.url ?? '?'}: ${cause}`);
    }
    if (reply.sent) return;
    const { retryAfterSeconds } = problem.details;
    if (typeof retryAfterSeconds === 'number') void reply.header('retry-after', String(retryAfterSeconds));
    if (request.url.startsWith('/api/')) {
      const { status, code, title, detail, fields, details } = problem;
      // RFC 9110 11.6.1: a 401 says how to authenticate.
      if (status === 401) void reply.header('www-authenticate', 'Bearer');
      await reply
        .status(status)
        .header('content-type', 'application/problem+json; charset=utf-8')
        .send({
          type: problemType(request.server.publicUrl, code),
          title,
          status,
          detail,
          code,
          fields,
          ...details,
        });
      return;
    }
    if (problem.status === 401 && request.method === 'GET') {
      await reply.redirect(`/sign-in?next=${encodeURIComponent(request.url)}`, 303);
      return;
    }
    const call = new Call(request, reply).status(problem.status);
    // What was typed would be lost by asking for the page anew; the browser's way back keeps it.
    const again = problem.status === 503 && request.method === 'GET' && request.url;
    await renderPage(call, 'problem', { heading: problem.title, problem, again });
  }
}
