export { clientTables } from './client-rows.js';
export { type RetentionKind, RetentionRule } from './entities.js';
export { KEPT } from './erasure-plan.js';
export { type ClientExport, type ConsentLine, ErasureInput, Privacy } from './privacy.js';
export { PrivacyModule } from './privacy.module.js';
export { Retention, RetentionInput, type RetentionPlan } from './retention.js';
