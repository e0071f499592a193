import { Module } from '@nestjs/common';
import { SalonModule } from '../salon/index.js';
import { SkinTestsModule } from '../skin-tests/index.js';
import { Book } from './book.js';
import { BookNewsCarrier } from './book-news.js';
import { Calendars } from './calendars.js';
import { ClientLinks } from './client-links.js';
import { BookEffects } from './effects.js';
import { LiveBook } from './live-book.js';
import { NextFree } from './next-free.js';
import { Slots } from './slots.js';
import { Strays } from './strays.js';
import { WaitingEffects } from './waiting-effects.js';
import { WaitingList } from './waiting-list.js';
import { WaitingOffers } from './waiting-offers.js';

const SERVICES = [
  Book,
  BookEffects,
  LiveBook,
  Slots,
  Calendars,
  ClientLinks,
  WaitingList,
  WaitingOffers,
  Strays,
  WaitingEffects,
];

@Module({
  imports: [SalonModule, SkinTestsModule],
  providers: [...SERVICES, NextFree, BookNewsCarrier],
  exports: SERVICES,
})
export class BookModule {}
