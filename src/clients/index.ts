export { type ClientRecord, Clients } from './clients.js';
export { ClientsModule } from './clients.module.js';
export { ClientChangeDto, NewClientDto } from './dto.js';
export * from './entities.js';
export { checkedClient, insertClients, mergedFields, mergeInto, newClient, saveMerged } from './intake.js';
export type { PossibleDouble } from './possible-doubles.js';
export { foldName } from './search-text.js';
