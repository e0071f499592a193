export * from './entities.js';
export { SalonModule } from './salon.module.js';
export { Salons } from './salons.js';
