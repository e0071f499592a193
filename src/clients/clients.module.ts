import { Module } from '@nestjs/common';
import { Clients } from './clients.js';

@Module({ providers: [Clients], exports: [Clients] })
export class ClientsModule {}
