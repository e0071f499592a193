export { Book } from './book.js';
export { BookModule } from './book.module.js';
export type { BookDay, DayAppointment, DayColumn } from './day.js';
export { BookInput, CancelInput, MoveInput, SlotsInput } from './dto.js';
export { type Before, type BookEffect, BookEffects } from './effects.js';
export * from './entities.js';
export { type Slot, Slots } from './slots.js';
