import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { SalonFence } from '../clients/index.js';
import type { Salons } from '../salon/index.js';

/**
 * Answers whoever is bound to one salon inside the fence of that salon, what her errors show too. A request that changes
 * nothing asks but once who and what there is in the salon.
 */
export function registerFence(fastify: FastifyInstance, salons: Salons, fence: SalonFence): void {
  fastify.addHook('preHandler', ({ method }: FastifyRequest, _reply, done) => {
    if (method === 'GET' || method === 'HEAD') salons.askingOnce(done);
    else done();
  });
  fastify.addHook('preHandler', ({ principal }: FastifyRequest, _reply, done) => {
    if (!principal) return done();
    salons.boundTo(principal).then((salonId) => {
      if (salonId === undefined) done();
      else fence.within(salonId, done);
    }, done);
  });
}
