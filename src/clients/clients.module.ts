import { Module } from '@nestjs/common';
import { ClientEffects } from './client-effects.js';
import { Clients } from './clients.js';
import { SalonFence } from './salon-fence.js';

@Module({
  providers: [Clients, ClientEffects, SalonFence],
  exports: [Clients, ClientEffects, SalonFence],
})
export class ClientsModule {}
