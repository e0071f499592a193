export { Book } from './book.js';
export { BookModule } from './book.module.js';
export type { BookDay, DayAppointment, DayColumn } from './day.js';
export { BookInput, CancelInput, MoveInput } from './dto.js';
export { BookEffects } from './effects.js';
export * from './entities.js';
export { type Slot, Slots } from './slots.js';
