export * from './entities.js';
export * from './terms.js';
