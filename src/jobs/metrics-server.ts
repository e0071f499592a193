import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { type BeforeApplicationShutdown, Logger, type OnApplicationBootstrap } from '@nestjs/common';
import { Gauge } from 'prom-client';
import { LessThanOrEqual } from 'typeorm';
import type { Clock } from '../base/index.js';
import type { Metrics } from '../http/index.js';
import { keptIn } from '../keep/index.js';
import { Message } from '../reminders/index.js';
import type { Reader, Settings } from '../store/index.js';

const SECOND_MS = 1000;

/**
 * Serves the figures of this process to Prometheus, at an address of its own that is not the public one, where
 * METRICS_PORT says so. What the database knows is asked when somebody looks.
 */
export class MetricsServer implements OnApplicationBootstrap, BeforeApplicationShutdown {
  private readonly log = new Logger('metrics');
  private server: Server | undefined;

  constructor(
    private readonly settings: Settings,
    private readonly metrics: Metrics,
    private readonly reader: Reader,
    private readonly clock: Clock,
  ) {}

  /** Port it listens on; undefined where it does not. */
  get port(): number | undefined {
    return (this.server?.address() as AddressInfo | null | undefined)?.port;
  }

  async onApplicationBootstrap(): Promise<void> {
    const { port, host } = this.settings.metrics;
    if (port === undefined) return;
    this.metrics.watchProcess();
    this.addGauges();
    this.server = createServer((request, response) => {
      const isAsked = request.method === 'GET' && request.url === '/metrics';
      if (!isAsked) {
        response.writeHead(404).end();
        return;
      }
      this.metrics.registry.metrics().then(
        (text) => response.writeHead(200, { 'content-type': this.metrics.registry.contentType }).end(text),
        (error: Error) => {
          this.log.error(`The figures could not be gathered: ${error.message}`);
          response.writeHead(503).end();
        },
      );
    });
    const server = this.server;
    await new Promise<void>((listening, failed) => {
      server.once('error', failed);
      server.listen(port, host, listening);
    });
  }

  async beforeApplicationShutdown(): Promise<void> {
    const server = this.server;
    if (!server) return;
    await new Promise<void>((closed) => {
      server.close(() => closed());
      server.closeAllConnections();
    });
  }

  private addGauges(): void {
    const { metrics, reader, clock, settings } = this;
    const registers = [metrics.registry];
    new Gauge({
      name: 'halfinch_messages_owed',
      help: 'Messages that are to be sent, now or later.',
      registers,
      async collect() {
        this.set(await reader.manager.countBy(Message, { state: 'owed' }));
      },
    });
    new Gauge({
      name: 'halfinch_messages_overdue_seconds',
      help: 'How long the message that has waited longest has been due, in seconds.',
      registers,
      async collect() {
        const now = clock.now();
        const oldest = await reader.manager.findOne(Message, {
          select: { id: true, dueAt: true },
          where: { state: 'owed', dueAt: LessThanOrEqual(now) },
          order: { dueAt: 'ASC' },
        });
        this.set(oldest ? (now - oldest.dueAt) / SECOND_MS : 0);
      },
    });
    new Gauge({
      name: 'halfinch_backup_newest_timestamp_seconds',
      help: 'When the newest backup in BACKUP_DIR was made, in seconds since 1970; 0 where there is none.',
      registers,
      async collect() {
        const { dir } = settings.backup;
        const [newest] = dir === undefined ? [] : await keptIn(dir);
        this.set((newest?.madeAt ?? 0) / SECOND_MS);
      },
    });
  }
}
