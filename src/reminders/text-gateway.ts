import { type ClientRequest, type IncomingMessage, request as requestHttp } from 'node:http';
import { request as requestHttps } from 'node:https';
import { isIP } from 'node:net';
import Handlebars from 'handlebars';
import { SettingsError, type TextGatewaySettings } from '../store/index.js';
import type { Patience } from './patience.js';
import { isPublicAddress, lookupPublic } from './public-address.js';
import { DeliveryError, type OutgoingText, TextSender } from './sender.js';
import { signature } from './signature.js';

/** Answers that say something about this very text; all others are the gateway's trouble or our set-up's. */
const FINAL = [400, 413, 422];
const ANSWER_MAX = 300;

/** A value as it stands inside a JSON string. */
const inJson = (value: string) => JSON.stringify(value).slice(1, -1);

/** The body's template; throws SettingsError when what it makes is no JSON. */
function bodyOf(template: string): (text: OutgoingText) => string {
  const compiled = Handlebars.compile(template, { strict: true, knownHelpersOnly: true, noEscape: true });
  const body = ({ id, to, from, text }: OutgoingText) =>
    compiled({ id: inJson(id), to: inJson(to), from: inJson(from), text: inJson(text) });
  try {
    JSON.parse(body({ id: 'a', to: '+442079460100', from: 'Sample', text: 'a "b"\n' }));
  } catch (error) {
    throw new SettingsError(
      `TEXT_GATEWAY_BODY must make JSON out of {{id}}, {{to}}, {{from}} and {{text}}: ${(error as Error).message}`,
    );
  }
  return body;
}

/**
 * Hands texts to a gateway by HTTP: one JSON request each, with an Idempotency-Key so that a text handed in twice
 * is sent once, and a signature over its body. Follows no redirect; reaches no private network unless allowed.
 */
export class TextGateway extends TextSender {
  readonly name = 'gateway';
  private readonly url: URL;
  private readonly body: (text: OutgoingText) => string;

  constructor(
    private readonly settings: TextGatewaySettings,
    private readonly now: () => number,
  ) {
    super();
    this.url = new URL(settings.url);
    this.body = bodyOf(settings.body);
    const host = this.url.hostname.replace(/^\[|\]$/g, '');
    if (!settings.allowPrivate && isIP(host) !== 0 && !isPublicAddress(host)) {
      throw new SettingsError(
        'TEXT_GATEWAY_URL names a private address. Set TEXT_GATEWAY_ALLOW_PRIVATE=1 if that is meant.',
      );
    }
  }

  async send(text: OutgoingText, { signal }: Pick<Patience, 'signal'>): Promise<void> {
    const answer = await this.ask(text, signal).catch((error: Error) => {
      const words =
        error.name === 'AbortError' || error.name === 'TimeoutError'
          ? 'The text gateway took too long to answer.'
          : `The text gateway could not be reached: ${error.message}`;
      throw new DeliveryError(words, false, { cause: error });
    });
    if (answer.status >= 200 && answer.status < 300) return;
    const words = `The text gateway answered: ${answer.status} ${answer.words}`.trim();
    throw new DeliveryError(words, FINAL.includes(answer.status));
  }

  private async ask(
    text: OutgoingText,
    signal: AbortSignal,
  ): Promise<{ readonly status: number; readonly words: string }> {
    const body = this.body(text);
    const { method, secret, allowPrivate } = this.settings;
    return await new Promise((resolve, reject) => {
      const request: ClientRequest = (this.url.protocol === 'https:' ? requestHttps : requestHttp)(
        this.url,
        {
          method,
          signal,
          headers: {
            'content-type': 'application/json; charset=utf-8',
            'content-length': Buffer.byteLength(body),
            'idempotency-key': text.id,
            'x-halfinch-signature': signature(secret, this.now(), [body]),
          },
          ...(!allowPrivate && { lookup: lookupPublic }),
        },
        (response: IncomingMessage) => {
          let words = '';
          response.setEncoding('utf8');
          response.on('data', (chunk: string) => {
            if (words.length < ANSWER_MAX) words += chunk.slice(0, ANSWER_MAX - words.length);
          });
          response.on('error', reject);
          response.on('end', () => resolve({ status: response.statusCode ?? 0, words }));
        },
      );
      request.on('error', reject);
      request.end(body);
    });
  }
}

/** Where no gateway is set up no text is ever owed; this says so should one be. */
export class NoTextGateway extends TextSender {
  readonly name = 'gateway';

  async send(): Promise<void> {
    throw new DeliveryError('No text gateway is set up.', false);
  }
}
