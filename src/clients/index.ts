export { type ClientRecord, Clients } from './clients.js';
export { ClientsModule } from './clients.module.js';
export { ClientChangeDto, NewClientDto } from './dto.js';
export * from './entities.js';
export type { PossibleDouble } from './possible-doubles.js';
