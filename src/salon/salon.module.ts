import { Module } from '@nestjs/common';
import { Resources } from './resources.js';
import { RotaChanges } from './rota-changes.js';
import { Salons } from './salons.js';
import { SetUp } from './set-up.js';

const SERVICES = [Salons, SetUp, Resources, RotaChanges];

@Module({ providers: SERVICES, exports: SERVICES })
export class SalonModule {}
