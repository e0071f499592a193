import { createServer, get, type IncomingMessage, request, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';

const CHECK_EVERY_MS = 250;

export type Balancer = {
  readonly url: string;
  /** Shares requests out to that port too, as long as its health check passes. */
  with(port: number): void;
  close(): Promise<void>;
};

/**
 * What any reverse proxy with health checks does, and no more: takes the healthy servers in turn, a connection a
 * request, and goes to the next one only where a connection was refused, when nothing can have been done yet.
 */
export async function openBalancer(): Promise<Balancer> {
  const healthy = new Map<number, boolean>();
  let turn = 0;

  const check = (port: number): void => {
    const asked = get({ host: '127.0.0.1', port, path: '/health/ready', agent: false }, (answer) => {
      answer.resume();
      healthy.set(port, answer.statusCode === 200);
    });
    asked.on('error', () => healthy.set(port, false));
  };
  const checking = setInterval(() => {
    for (const port of healthy.keys()) check(port);
  }, CHECK_EVERY_MS);

  const pass = (body: Buffer, from: IncomingMessage, to: ServerResponse, tries: number): void => {
    const ports = [...healthy].flatMap(([port, isHealthy]) => (isHealthy ? [port] : []));
    turn += 1;
    const port = ports[turn % ports.length];
    if (port === undefined) return void to.writeHead(503).end('No server is healthy.');
    const { method, url: path, headers } = from;
    const upstream = request({ host: '127.0.0.1', port, method, path, headers, agent: false }, (answer) => {
      to.writeHead(answer.statusCode ?? 502, answer.headers);
      answer.pipe(to);
    });
    upstream.on('error', (error: NodeJS.ErrnoException) => {
      if (error.code === 'ECONNREFUSED' && tries > 1) return pass(body, from, to, tries - 1);
      if (to.headersSent) to.destroy(error);
      else to.writeHead(502).end(String(error));
    });
    upstream.end(body);
  };

  const server = createServer((from, to) => {
    const chunks: Buffer[] = [];
    from.on('data', (chunk: Buffer) => chunks.push(chunk));
    from.on('end', () => pass(Buffer.concat(chunks), from, to, healthy.size));
  });
  await new Promise<void>((ready) => {
    server.listen(0, '127.0.0.1', ready);
  });
  return {
    url: `http://127.0.0.1:${(server.address() as AddressInfo).port}`,
    with: (port) => void healthy.set(port, true),
    close: async () => {
      clearInterval(checking);
      server.closeAllConnections();
      await new Promise((closed) => server.close(closed));
    },
  };
}
