import { constants } from 'node:zlib';
import fastifyCompress from '@fastify/compress';
import type { FastifyInstance, FastifyRequest } from 'fastify';

/** Shorter answers fit into one packet anyhow. */
const THRESHOLD_BYTES = 1024;
/** Says nothing that could be tried out against what stands in the page; these pages hold drawings. */
const TELLING_NOTHING = /\?(show=(as-cut|wanted)|on=\d{4}-\d{2}-\d{2})$/;

/**
 * Compresses what is sent. Whoever can read the lengths of answers on the line and make a browser open addresses could
 * try out, by what they shrink an answer, words that stand in it beside what the address says (BREACH, Gluck, Harris
 * and Prado 2013). So an answer to an address with a query goes out as it is: there is no other way for a stranger to
 * get words of his into a page, because forms need their token and cookies stay away from other sites' requests. The
 * token itself is masked anew in every page by its plugin.
 */
export async function registerCompression(fastify: FastifyInstance): Promise<void> {
  fastify.addHook('onRequest', async (request: FastifyRequest) => {
    // The plugin's own way of being told to leave an answer alone.
    const isTried = request.url.includes('?') && !TELLING_NOTHING.test(request.url);
    if (isTried) request.headers['x-no-compression'] = '1';
  });
  await fastify.register(fastifyCompress, {
    global: true,
    globalDecompression: false,
    threshold: THRESHOLD_BYTES,
    encodings: ['br', 'gzip', 'identity'],
    // Quality 4 of 11 is for answers made on the spot.
    brotliOptions: { params: { [constants.BROTLI_PARAM_QUALITY]: 4 } },
  });
}
