import { Module } from '@nestjs/common';
import { RemindersModule } from '../reminders/index.js';
import { Figures } from './figures.js';
import { Forecasts } from './forecasts.js';
import { HoldOuts } from './hold-outs.js';
import { RebookingRate } from './rebooking-rate.js';

@Module({
  imports: [RemindersModule],
  providers: [RebookingRate, Figures, Forecasts, HoldOuts],
  exports: [RebookingRate, Figures, Forecasts, HoldOuts],
})
export class ReportsModule {}
