export { type ClampedZone, type Cut, cutHead, type ZoneLengths } from './cut-head.js';
export * from './formula.js';
export { mirrorFormula } from './mirror.js';
export { tautString } from './taut-string.js';
