export { ResourceInput, RotaChangeInput, SalonInput, ServiceInput, StaffInput } from './dto.js';
export * from './entities.js';
export { type LocalDay, localDays, timeOf } from './local-days.js';
export { Resources } from './resources.js';
export { RotaChanges } from './rota-changes.js';
export { SalonModule } from './salon.module.js';
export { Salons } from './salons.js';
export { type Stretch, type WorkStretch, workingStretches } from './working-stretches.js';
export { workingTime } from './working-time.js';
