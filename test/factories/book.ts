import { Book, BookEffects, Slots } from '../../src/book/index.js';
import { ColourGate } from '../../src/skin-tests/index.js';
import type { TestStore } from './salon.js';

export type TestBook = { readonly book: Book; readonly slots: Slots; readonly effects: BookEffects };

/** The book's services over a test store. */
export function bookOf({ units, reader, clock, audit, salons }: TestStore): TestBook {
  const effects = new BookEffects();
  const slots = new Slots(reader, clock, salons);
  return {
    effects,
    slots,
    book: new Book(units, reader, clock, audit, salons, slots, effects, new ColourGate()),
  };
}
