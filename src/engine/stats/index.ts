export { gaussHermite } from './gauss-hermite.js';
export { normalCdf, normalDensity, normalQuantile } from './normal.js';
export { seededNormal, seededUniform } from './seeded.js';
export { truncatedNormal } from './truncated-normal.js';
