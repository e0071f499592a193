import { Module } from '@nestjs/common';
import { Resources } from './resources.js';
import { RotaChanges } from './rota-changes.js';
import { Salons } from './salons.js';

const SERVICES = [Salons, Resources, RotaChanges];

@Module({ providers: SERVICES, exports: SERVICES })
export class SalonModule {}
