export { Book } from './book.js';
export { BookModule } from './book.module.js';
export { appointmentFile, type CalendarEntry } from './calendar-file.js';
export { Calendars } from './calendars.js';
export { ClientLinks, type LinkedAppointment } from './client-links.js';
export type { BookDay, DayAppointment, DayColumn, LaidOutAppointment } from './day.js';
export {
  BookInput,
  CancelInput,
  FreedInput,
  LinkMoveInput,
  MoveInput,
  OfferInput,
  WaitInput,
} from './dto.js';
export { type BookEffect, BookEffects } from './effects.js';
export * from './entities.js';
export { PrivateLink } from './private-links.js';
export { serviceFor } from './service-for.js';
export { type Slot, Slots } from './slots.js';
export { type WaitingEffect, WaitingEffects } from './waiting-effects.js';
export * from './waiting-entities.js';
export { type WaitingLine, WaitingList, type WaitingMatch } from './waiting-list.js';
export { type LinkedOffer, type MadeOffer, WaitingOffers } from './waiting-offers.js';
