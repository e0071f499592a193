export { DemandForecast, NudgeHoldOut } from './entities.js';
export { RebookingRate, type RebookingRateReport, type RebookingRateRow } from './rebooking-rate.js';
export { ReportsModule } from './reports.module.js';
export { type Proportion, wilson } from './wilson.js';
