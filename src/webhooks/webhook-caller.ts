import { type IncomingMessage, request as requestHttp } from 'node:http';
import { request as requestHttps } from 'node:https';
import { isIP } from 'node:net';
import { isPublicAddress, lookupPublic } from '../reminders/index.js';

/** More of an answer than this is not waited for: what it says does not matter. */
const ANSWER_MOST_BYTES = 16 * 1024;

export type Called =
  | { readonly status: number }
  /** Nothing came back. */
  | { readonly trouble: string };

/** Why an address cannot be called, or undefined. A name is looked up anew at every call. */
export function refusedAddress(text: string, allowPrivate: boolean): string | undefined {
  if (!URL.canParse(text)) return 'Address: write it in full, such as https://example.org/halfinch.';
  const url = new URL(text);
  const isWeb = url.protocol === 'https:' || (allowPrivate && url.protocol === 'http:');
  if (!isWeb) return 'Address: it must begin with https://.';
  if (url.username !== '' || url.password !== '') return 'Address: leave user name and password out.';
  const host = url.hostname.replace(/^\[|\]$/g, '');
  const isClosed = isIP(host) !== 0 ? !isPublicAddress(host) : /(^|\.)localhost\.?$/.test(host);
  if (isClosed && !allowPrivate) return 'Address: it lies in a private network. Name a public server.';
  return undefined;
}

/**
 * Posts once. Follows no redirect, reaches no private network unless allowed (the address that is checked is the one that
 * is connected to), and gives up after `withinMs` milliseconds. Never throws.
 */
export async function callWebhook(
  url: string,
  { body, headers }: { readonly body: string; readonly headers: Readonly<Record<string, string>> },
  { allowPrivate, withinMs }: { readonly allowPrivate: boolean; readonly withinMs: number },
): Promise<Called> {
  const refused = refusedAddress(url, allowPrivate);
  if (refused !== undefined) return { trouble: refused };
  const signal = AbortSignal.timeout(withinMs);
  return await new Promise<Called>((resolve) => {
    const request = (url.startsWith('https:') ? requestHttps : requestHttp)(
      url,
      {
        method: 'POST',
        signal,
        agent: false,
        headers: { ...headers, 'content-length': Buffer.byteLength(body), 'user-agent': 'Halfinch' },
        ...(!allowPrivate && { lookup: lookupPublic }),
      },
      (response) => {
        drain(response);
        resolve({ status: response.statusCode ?? 0 });
      },
    );
    request.on('error', (error) => {
      const words = signal.aborted
        ? `No answer within ${withinMs / 1000} seconds.`
        : `It could not be reached: ${error.message}`;
      resolve({ trouble: words.slice(0, 300) });
    });
    request.end(body);
  });
}

/** Lets an answer of a usual size end in peace and cuts off any other. */
function drain(response: IncomingMessage): void {
  let bytes = 0;
  response.on('error', () => undefined);
  response.on('data', (chunk: Buffer) => {
    bytes += chunk.length;
    if (bytes > ANSWER_MOST_BYTES) response.destroy();
  });
}
