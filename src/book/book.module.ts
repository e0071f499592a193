import { Module } from '@nestjs/common';
import { ClientsModule } from '../clients/index.js';
import { SalonModule } from '../salon/index.js';
import { SkinTestsModule } from '../skin-tests/index.js';
import { Book } from './book.js';
import { BookNewsCarrier } from './book-news.js';
import { Calendars } from './calendars.js';
import { ClientLinks } from './client-links.js';
import { BookEffects } from './effects.js';
import { LiveBook } from './live-book.js';
import { NextFree } from './next-free.js';
import { Obstacles } from './obstacles.js';
import { Slots } from './slots.js';
import { Strays } from './strays.js';
import { WaitingEffects } from './waiting-effects.js';
import { WaitingEnds } from './waiting-ends.js';
import { WaitingList } from './waiting-list.js';
import { WaitingOffers } from './waiting-offers.js';
import { WalkIns } from './walk-ins.js';

const SERVICES = [
  Book,
  BookEffects,
  LiveBook,
  Obstacles,
  Slots,
  Calendars,
  ClientLinks,
  WaitingList,
  WaitingOffers,
  Strays,
  WaitingEffects,
  WalkIns,
];

@Module({
  imports: [SalonModule, ClientsModule, SkinTestsModule],
  providers: [...SERVICES, WaitingEnds, NextFree, BookNewsCarrier],
  exports: SERVICES,
})
export class BookModule {}
