import { Module } from '@nestjs/common';
import { Salons } from './salons.js';

@Module({ providers: [Salons], exports: [Salons] })
export class SalonModule {}
