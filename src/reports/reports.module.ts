import { Module } from '@nestjs/common';
import { Figures } from './figures.js';
import { Forecasts } from './forecasts.js';
import { HoldOuts } from './hold-outs.js';
import { RebookingRate } from './rebooking-rate.js';

@Module({
  providers: [RebookingRate, Figures, Forecasts, HoldOuts],
  exports: [RebookingRate, Figures, HoldOuts],
})
export class ReportsModule {}
