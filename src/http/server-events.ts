import { PassThrough } from 'node:stream';
import type { FastifyReply } from 'fastify';

/** One event as the HTML standard's "text/event-stream" writes it; its data is one line of JSON. */
export type ServerEvent = { readonly id?: string; readonly event?: string; readonly data: unknown };

/** An answer that goes on until either side ends it. */
export class ServerEvents {
  private readonly stream = new PassThrough();

  /** Sends the head at once; a browser that loses the connection tries again after `retryMs`. */
  constructor(reply: FastifyReply, retryMs: number) {
    this.stream.write(`retry: ${retryMs}\n\n`);
    void reply
      .header('content-type', 'text/event-stream; charset=utf-8')
      .header('cache-control', 'no-store')
      // The connection goes with the answer: kept alive it would keep a server that stops waiting.
      .header('connection', 'close')
      // A proxy that gathers answers would hold events back.
      .header('x-accel-buffering', 'no')
      .send(this.stream);
  }

  send({ id, event, data }: ServerEvent): void {
    const head = `${id === undefined ? '' : `id: ${id}\n`}${event === undefined ? '' : `event: ${event}\n`}`;
    if (!this.stream.writableEnded) this.stream.write(`${head}data: ${JSON.stringify(data)}\n\n`);
  }

  /** A comment: keeps proxies from closing a silent connection, and finds out when the other side has gone. */
  beat(): void {
    if (!this.stream.writableEnded) this.stream.write(':\n\n');
  }

  end(): void {
    this.stream.end();
  }

  /** Calls `work` once, when either side has ended it. */
  onClose(work: () => void): void {
    this.stream.once('close', work);
  }
}
