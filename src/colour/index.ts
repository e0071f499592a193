export { ColourModule } from './colour.module.js';
export { ColourFormulas, type WholeColourFormula } from './colour-formulas.js';
export { percentOfVolumes, volumesOfPercent } from './developer.js';
export { ColourFormulaDto, ToleranceDto } from './dto.js';
export * from './entities.js';
export { RootBands, type RootBandToday } from './root-bands.js';
