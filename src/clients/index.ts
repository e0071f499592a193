export { type ClientRecord, Clients, type SavedClient } from './clients.js';
export { ClientsModule } from './clients.module.js';
export { ClientChangeDto, ConsentDto, NewClientDto, StatedHairDto } from './dto.js';
export * from './entities.js';
export { mayAct } from './may-act.js';
export type { DoubleReason, PossibleDouble } from './possible-doubles.js';
