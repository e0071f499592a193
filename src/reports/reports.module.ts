import { Module } from '@nestjs/common';
import { RebookingRate } from './rebooking-rate.js';

@Module({ providers: [RebookingRate], exports: [RebookingRate] })
export class ReportsModule {}
