export { CAUTIONS } from './cautions.js';
export { type ColourCheck, ColourGate } from './colour-gate.js';
export type { ColourBar, ColourPermission, ColourQuestion, ColourRefusal } from './colour-question.js';
export { colourGate } from './colour-rules.js';
export * from './entities.js';
export { SkinTestsModule } from './skin-tests.module.js';
export { type SkinTestRules, type SkinTestState, skinTestState, validThrough } from './state.js';
