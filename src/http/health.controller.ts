import { setTimeout as wait } from 'node:timers/promises';
import { type BeforeApplicationShutdown, Controller, Get, Inject, Res } from '@nestjs/common';
import type { FastifyReply } from 'fastify';
import { Reader, SETTINGS, type Settings } from '../store/index.js';
import { Open } from './context.js';

/** For whoever starts, stops and watches the process. Says nothing of what is wrong: that is in the log. */
@Open()
@Controller('health')
export class HealthController implements BeforeApplicationShutdown {
  private stopping = false;

  constructor(
    private readonly reader: Reader,
    @Inject(SETTINGS) private readonly settings: Pick<Settings, 'stopAfterMs'>,
  ) {}

  /** Goes on answering until whoever shares out the requests has had time to see that it should get no more. */
  async beforeApplicationShutdown(): Promise<void> {
    this.stopping = true;
    await wait(this.settings.stopAfterMs);
  }

  /** The process runs; if this fails, start it anew. */
  @Get('live')
  live() {
    return { status: 'ok' };
  }

  /** It can answer; if this fails, send requests elsewhere meanwhile. */
  @Get('ready')
  async ready(@Res({ passthrough: true }) reply: FastifyReply) {
    const isReady = !this.stopping && (await this.databaseAnswers());
    if (!isReady) void reply.status(503);
    return { status: isReady ? 'ok' : 'unavailable' };
  }

  private async databaseAnswers(): Promise<boolean> {
    return await this.reader.manager.query('SELECT 1 FROM schema_migration').then(
      () => true,
      () => false,
    );
  }
}
