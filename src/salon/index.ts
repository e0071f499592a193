export {
  ClosureInput,
  HoursInput,
  ResourceInput,
  RotaChangeInput,
  SalonInput,
  ServiceInput,
  StaffInput,
  WeekInput,
} from './dto.js';
export * from './entities.js';
export { type LocalDay, localDays, timeOf } from './local-days.js';
export { Resources } from './resources.js';
export { RotaChanges } from './rota-changes.js';
export { SalonModule } from './salon.module.js';
export { Salons } from './salons.js';
export { SetUp, SetUpInput } from './set-up.js';
export { type Stretch, type WorkStretch, workingStretches } from './working-stretches.js';
export { workingTime } from './working-time.js';
