export { currencyDigits, figureCsv } from './csv.js';
export { DemandForecast, NudgeHoldOut } from './entities.js';
export type { Cell, CellKind, Chart, Column, CurvePoint, Figure, FigureRow } from './figure.js';
export { type FigureView, figureView } from './figure-view.js';
export {
  FIGURE_PARTS,
  FIXED_SPAN_PARTS,
  type FigurePart,
  Figures,
  UNCUT_PARTS,
  WHOLE_SALON_PARTS,
} from './figures.js';
export { Forecasts } from './forecasts.js';
export { HoldOutInput, HoldOuts } from './hold-outs.js';
export { CUT_WORDS } from './names.js';
export { RebookingRate, type RebookingRateReport, type RebookingRateRow } from './rebooking-rate.js';
export { ReportsModule } from './reports.module.js';
export { CUTS_BY, type CutBy } from './scope.js';
export { type Proportion, wilson } from './wilson.js';
