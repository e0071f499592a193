import { createServer, type IncomingHttpHeaders, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { Webhook as Verifier, WebhookVerificationError } from 'standardwebhooks';
import { AccountMail, Audit } from '../../src/identity/index.js';
import { type Settings } from '../../src/store/index.js';
import { EVENT_TYPES, Webhook, WebhookDelivery } from '../../src/webhooks/index.js';
import { WebhookDispatcher } from '../../src/webhooks/webhook-dispatcher.js';
import { USUAL_WEBHOOK_POLICY, type WebhookPolicy } from '../../src/webhooks/webhook-policy.js';
import type { TestApp } from './app.js';

export type Heard = {
  readonly path: string;
  readonly headers: IncomingHttpHeaders;
  readonly body: string;
};

/** What the receiver does with the next calls; `answers` gives a status. */
export type Manner =
  | { readonly answers: number; readonly location?: string; readonly bytes?: number }
  | 'stalls'
  | 'drops'
  | 'drips';

/** A real HTTP server that hears events and misbehaves as told. */
export class Receiver {
  readonly heard: Heard[] = [];
  manner: Manner = { answers: 204 };

  private constructor(private readonly server: Server) {}

  static async open(): Promise<Receiver> {
    const server = createServer();
    const receiver = new Receiver(server);
    server.on('request', (request, response) => {
      let body = '';
      request.setEncoding('utf8');
      request.on('data', (chunk: string) => {
        body += chunk;
      });
      request.on('end', () => {
        receiver.heard.push({ path: request.url ?? '', headers: request.headers, body });
        const { manner } = receiver;
        if (manner === 'stalls') return;
        if (manner === 'drops') {
          request.socket.destroy();
          return;
        }
        if (manner === 'drips') {
          response.writeHead(200);
          response.write('a');
          return;
        }
        response.writeHead(manner.answers, manner.location ? { location: manner.location } : {});
        response.end('x'.repeat(manner.bytes ?? 0));
      });
    });
    await new Promise<void>((listening) => server.listen(0, '127.0.0.1', listening));
    return receiver;
  }

  get url(): string {
    return `http://127.0.0.1:${(this.server.address() as AddressInfo).port}`;
  }

  /** The events that were heard, whatever was answered. */
  get events(): Record<string, unknown>[] {
    return this.heard.map(({ body }) => JSON.parse(body) as Record<string, unknown>);
  }

  async close(): Promise<void> {
    this.server.closeAllConnections();
    await new Promise((closed) => this.server.close(closed));
  }
}

/** A dispatcher of the app's deliveries with less patience and without chance. */
export function webhookDispatcherOf(
  test: TestApp,
  policy: Partial<WebhookPolicy> = {},
  settings: Pick<Settings, 'publicUrl' | 'webhooksAllowPrivate'> = {
    publicUrl: 'https://book.example.org',
    webhooksAllowPrivate: true,
  },
): WebhookDispatcher {
  const get = <T>(type: abstract new (...args: never[]) => T): T =>
    test.app.get(type as never, { strict: false });
  return new WebhookDispatcher(test.units, test.reader, test.clock, get(AccountMail), get(Audit), settings, {
    ...USUAL_WEBHOOK_POLICY,
    withinMs: 300,
    random: () => 0,
    ...policy,
  });
}

type Json = ReturnType<typeof JSON.parse>;

/** What specs of webhooks do again and again; `receiver` is a fresh one for each test. */
export class Hooks {
  receiver!: Receiver;

  constructor(readonly test: TestApp) {}

  async begin(): Promise<void> {
    this.receiver = await Receiver.open();
  }

  /** Removes every webhook with what was owed to it. */
  async end(): Promise<void> {
    await this.receiver.close();
    const { webhooks } = (await this.ask('owner', 'GET', 'webhooks')).body;
    for (const { id } of webhooks) await this.ask('owner', 'DELETE', `webhooks/${id}`);
    const left = await this.test.reader.manager.count(WebhookDelivery);
    if (left > 0) throw new Error(`${left} deliveries outlived their webhooks.`);
  }

  async ask(
    role: Parameters<TestApp['ask']>[0],
    method: string,
    path: string,
    body?: unknown,
  ): Promise<{ readonly status: number; readonly body: Json }> {
    return await this.test.ask(role, method, `/api/v1/${path}`, body);
  }

  async add(changes: Json = {}): Promise<{ readonly id: string; readonly secret: string }> {
    const input = { url: `${this.receiver.url}/hook`, events: EVENT_TYPES, ...changes };
    const { status, body } = await this.ask('owner', 'POST', 'webhooks', input);
    if (status !== 201) throw new Error(`No webhook was added: ${JSON.stringify(body)}`);
    return { id: body.webhook.id, secret: body.secret };
  }

  async addClient(givenName: string): Promise<string> {
    return (await this.ask('desk', 'POST', 'clients', { givenName })).body.client.id;
  }

  async book(clientId: string, date: string, time: string): Promise<Json> {
    const { mara, fullCut } = this.test;
    const wanted = { clientId, staffId: mara.id, serviceId: fullCut.id, date, time };
    return (await this.ask('desk', 'POST', 'appointments', wanted)).body.appointment;
  }

  async standing(id: string): Promise<Webhook> {
    return await this.test.reader.manager.findOneByOrFail(Webhook, { id });
  }

  async deliveries(): Promise<WebhookDelivery[]> {
    return await this.test.reader.manager.find(WebhookDelivery, { order: { id: 'ASC' } });
  }
}

/** Whether the reference library of Standard Webhooks, which goes by the machine's clock, takes it at this instant. */
export function isVerified(secret: string, { body, headers }: Heard, now: number): boolean {
  const { now: machine } = Date;
  Date.now = () => now;
  try {
    new Verifier(secret).verify(body, headers as Record<string, string>);
    return true;
  } catch (error) {
    if (!(error instanceof WebhookVerificationError)) throw error;
    return false;
  } finally {
    Date.now = machine;
  }
}
