import { request as ask, createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';

export type Balancer = {
  readonly url: string;
  /** Sends nothing more there; what is under way goes on. */
  without(port: number): void;
  with(port: number): void;
  close(): Promise<void>;
};

/**
 * What any reverse proxy does, and no more: takes the servers in turn, a connection a request, and goes to the next one
 * only where a connection was refused, when nothing can have been done yet.
 */
export async function openBalancer(): Promise<Balancer> {
  const ports: number[] = [];
  let turn = 0;

  const pass = (body: Buffer, from: IncomingMessage, to: ServerResponse, tries: number): void => {
    turn += 1;
    const port = ports[turn % ports.length];
    const { method, url: path, headers } = from;
    const upstream = ask({ host: '127.0.0.1', port, method, path, headers, agent: false }, (answer) => {
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
    from.on('end', () => pass(Buffer.concat(chunks), from, to, ports.length));
  });
  await new Promise<void>((ready) => {
    server.listen(0, '127.0.0.1', ready);
  });
  return {
    url: `http://127.0.0.1:${(server.address() as AddressInfo).port}`,
    without: (port) => void ports.splice(ports.indexOf(port), 1),
    with: (port) => void ports.push(port),
    close: async () => {
      server.closeAllConnections();
      await new Promise((closed) => server.close(closed));
    },
  };
}
