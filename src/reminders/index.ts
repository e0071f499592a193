export * from './entities.js';
