import { createServer, type IncomingHttpHeaders } from 'node:http';
import type { AddressInfo } from 'node:net';

export type GatewayRequest = {
  readonly method: string | undefined;
  readonly headers: IncomingHttpHeaders;
  readonly body: string;
};

export type TestGateway = {
  readonly url: string;
  /** Every request, taken or not. */
  readonly requests: GatewayRequest[];
  /** Texts that a client would get: one an Idempotency-Key. */
  readonly texts: Map<string, string>;
  behave: 'well' | 'busy' | 'refuse' | 'forbid' | 'drop' | 'stall' | 'take-and-drop' | 'redirect';
  close(): Promise<void>;
};

/** A real HTTP server on a free port of this machine that takes texts, or does not. */
export async function openGateway(): Promise<TestGateway> {
  const server = createServer((request, response) => {
    let body = '';
    request.setEncoding('utf8');
    request.on('data', (chunk: string) => {
      body += chunk;
    });
    request.on('end', () => {
      const { method, headers } = request;
      gateway.requests.push({ method, headers, body });
      const answer = (status: number, words: string, more: Record<string, string> = {}) => {
        response.writeHead(status, more).end(words);
      };
      const take = () => gateway.texts.set(String(headers['idempotency-key']), body);
      switch (gateway.behave) {
        case 'busy':
          return answer(503, 'come back later');
        case 'refuse':
          return answer(422, 'no such number');
        case 'forbid':
          return answer(401, 'who are you?');
        case 'redirect':
          return answer(302, '', { location: 'http://127.0.0.1:1/inside' });
        case 'drop':
          return request.socket.destroy();
        case 'take-and-drop':
          take();
          return request.socket.destroy();
        case 'stall':
          return;
        case 'well':
          take();
          return answer(202, '{}');
      }
    });
  });
  await new Promise<void>((ready) => {
    server.listen(0, '127.0.0.1', ready);
  });
  const { port } = server.address() as AddressInfo;
  const gateway: TestGateway = {
    url: `http://127.0.0.1:${port}/texts`,
    requests: [],
    texts: new Map(),
    behave: 'well',
    close: async () => {
      server.closeAllConnections();
      await new Promise((closed) => server.close(closed));
    },
  };
  return gateway;
}
