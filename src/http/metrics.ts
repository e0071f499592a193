import { Injectable, Module } from '@nestjs/common';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { collectDefaultMetrics, Histogram, Registry } from 'prom-client';

const SECOND_MS = 1000;
/** Seconds; a page should come well within half of one. */
const BUCKETS = [0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 10];

/** What this process counts about itself. Labels are routes and words of ours, never what somebody sent. */
@Injectable()
export class Metrics {
  readonly registry = new Registry();

  private readonly requests = new Histogram({
    name: 'halfinch_http_request_seconds',
    help: 'Time from the request to the end of its answer, in seconds.',
    labelNames: ['method', 'route', 'status'],
    buckets: BUCKETS,
    registers: [this.registry],
  });

  /** Adds the figures of the process itself: memory, event loop, garbage collection. */
  watchProcess(): void {
    collectDefaultMetrics({ register: this.registry });
  }

  /** Times every answer of the server by the pattern of its route. */
  watch(fastify: FastifyInstance): void {
    fastify.addHook('onResponse', async (request: FastifyRequest, reply: FastifyReply) => {
      const route = request.routeOptions.url ?? 'none';
      this.requests.observe(
        { method: request.method, route, status: `${reply.statusCode}` },
        reply.elapsedTime / SECOND_MS,
      );
    });
  }
}

@Module({ providers: [Metrics], exports: [Metrics] })
export class MetricsModule {}
