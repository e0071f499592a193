export { CAUTIONS } from './cautions.js';
export { ColourGate } from './colour-gate.js';
export { colourGate } from './colour-rules.js';
export { NewSkinTestDto, ReadingDto } from './dto.js';
export * from './entities.js';
export { SafetyRecords } from './safety-records.js';
export { type SkinTestStanding, SkinTests, type StandingTest } from './skin-tests.js';
export { SkinTestsModule } from './skin-tests.module.js';
export { type SkinTestState, skinTestState, validThrough } from './state.js';
