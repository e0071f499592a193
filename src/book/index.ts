export { Book } from './book.js';
export { BookModule } from './book.module.js';
export type { BookDay, DayAppointment, DayColumn, LaidOutAppointment } from './day.js';
export { BookInput, CancelInput, MoveInput } from './dto.js';
export { type BookEffect, BookEffects } from './effects.js';
export * from './entities.js';
export { serviceFor } from './service-for.js';
export { type Slot, Slots } from './slots.js';
