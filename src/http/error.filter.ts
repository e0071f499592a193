import { type ArgumentsHost, Catch, type ExceptionFilter, Logger } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { renderPage } from './pages.js';
import { problemOf } from './problem.js';

/** Answers every error: problem+json (RFC 9457) under /api, a page elsewhere. */
@Catch()
export class ErrorFilter implements ExceptionFilter {
  private readonly logger = new Logger('http');

  async catch(error: unknown, host: ArgumentsHost): Promise<void> {
    const http = host.switchToHttp();
    const request = http.getRequest<FastifyRequest>();
    const reply = http.getResponse<FastifyReply>();
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
        .send({ type: `urn:halfinch:problem:${code}`, title, status, detail, code, fields, ...details });
      return;
    }
    if (problem.status === 401 && request.method === 'GET') {
      await reply.redirect(`/sign-in?next=${encodeURIComponent(request.url)}`, 303);
      return;
    }
    await renderPage(request, reply.status(problem.status), 'problem', { heading: problem.title, problem });
  }
}
