export { RETENTION_KINDS, type RetentionKind, RetentionRule } from './entities.js';
