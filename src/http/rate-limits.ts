import { createHash } from 'node:crypto';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { DomainError } from '../base/index.js';
import type { Settings } from '../store/index.js';

const WINDOW_SECONDS = 60;

/** Who is counted: a program by its token, a person by her account, a stranger by the address. */
function counted({ principal, sessionToken, ip }: FastifyRequest): string {
  if (!principal) return ip;
  if (principal.via !== 'token') return `account ${principal.accountId}`;
  return `token ${createHash('sha256')
    .update(sessionToken ?? '')
    .digest('base64url')}`;
}

/**
 * Counts a request against what its asker may ask in a minute, and says so under /api in the fields RateLimit-Policy and
 * RateLimit (draft-ietf-httpapi-ratelimit-headers). People at our pages are not counted. The function returned throws
 * REQUESTS.TOO_MANY. With Redis all processes count together.
 */
export function rateLimits(
  fastify: FastifyInstance,
  { strangersPerMinute, apiPerMinute }: Settings,
): (request: FastifyRequest, reply: FastifyReply) => Promise<void> {
  const limiter = (max: number) =>
    max > 0
      ? fastify.createRateLimit({ max, timeWindow: WINDOW_SECONDS * 1000, keyGenerator: counted })
      : undefined;
  const strangers = { name: 'strangers', quota: strangersPerMinute, count: limiter(strangersPerMinute) };
  const askers = { name: 'api', quota: apiPerMinute, count: limiter(apiPerMinute) };
  return async (request, reply) => {
    const isApi = request.url.startsWith('/api/');
    if (request.principal && !isApi) return;
    const { name, quota, count } = request.principal ? askers : strangers;
    const counts = await count?.(request);
    if (!counts || counts.isAllowed) return;
    if (isApi) {
      void reply
        .header('ratelimit-policy', `"${name}";q=${quota};w=${WINDOW_SECONDS}`)
        .header('ratelimit', `"${name}";r=${counts.remaining};t=${counts.ttlInSeconds}`);
    }
    if (!counts.isExceeded) return;
    const whose = request.principal ? 'with your token or account' : 'from your address';
    throw new DomainError(
      'refused',
      'REQUESTS.TOO_MANY',
      `There were very many requests ${whose}. Please wait a minute and try again.`,
      [],
      { retryAfterSeconds: counts.ttlInSeconds },
    );
  };
}
