import type { FastifyRequest } from 'fastify';
import { may } from '../identity/index.js';
import { isByItself } from './by-itself.js';
import type { Call } from './call.js';
import { takeNotice } from './notice.js';

export type PageData = Readonly<Record<string, unknown>> & { readonly heading: string };

/** Where the bar at the top leads, by what the signed-in person may do. */
function navigation(request: FastifyRequest) {
  const { principal } = request;
  if (!principal) return [];
  const places = [
    { href: '/today', label: 'Today', action: 'book.read' },
    { href: '/clients', label: 'Clients', action: 'client.read' },
    { href: '/due', label: 'Due', action: 'book.read' },
    { href: '/messages', label: 'Messages', action: 'message.read' },
    { href: '/figures', label: 'Figures', action: 'report.open' },
  ] as const;
  return places
    .filter(({ action }) => may(principal.role, action))
    .map((place) => ({
      ...place,
      here:
        request.url === place.href ||
        (/^[/?]/.test(request.url.slice(place.href.length)) && request.url.startsWith(place.href)),
    }));
}

/** The salon as a client meets it on a page of hers. */
export type Host = { readonly name: string; readonly address: string; readonly phone: string };

/**
 * Sends a page to a client who came by a private link: under the salon's name, without what only those who work here
 * need, and never for a search engine. Sets no cookie, but takes away the one that carried a notice.
 */
export async function renderGuestPage(
  { request, reply }: Call,
  name: string,
  { host, ...data }: PageData & { readonly host: Host },
): Promise<void> {
  const html = await reply.viewAsync(`pages/${name}.hbs`, {
    ...data,
    page: name,
    host,
    principal: null,
    // What was left for the person is not for a page that looks by itself.
    notice: isByItself(request) ? '' : takeNotice(request, reply),
  });
  await reply
    .header('content-type', 'text/html; charset=utf-8')
    .header('cache-control', 'no-store')
    .header('x-robots-tag', 'noindex, nofollow, noarchive')
    // The address itself is the secret.
    .header('referrer-policy', 'no-referrer')
    .send(html);
}

/** Sends templates/pages/<name>.hbs inside the layout, with what every page shares. */
export async function renderPage({ request, reply }: Call, name: string, data: PageData): Promise<void> {
  const html = await reply.viewAsync(`pages/${name}.hbs`, {
    ...data,
    page: name,
    csrf: reply.generateCsrf(),
    principal: request.principal ?? null,
    navigation: navigation(request),
    notice: takeNotice(request, reply),
  });
  await reply
    .header('content-type', 'text/html; charset=utf-8')
    .header('cache-control', 'no-store')
    .send(html);
}
