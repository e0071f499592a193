export { ColourModule } from './colour.module.js';
export { ColourFormulas, type WholeColourFormula } from './colour-formulas.js';
export { percentOfVolumes, volumesOfPercent } from './developer.js';
export { ColourFormulaDto, ToleranceDto } from './dto.js';
export { type ColourEffect, ColourEffects } from './effects.js';
export * from './entities.js';
export { RootBands, type RootBandToday } from './root-bands.js';
export { rootsColouredOn } from './roots-coloured-on.js';
