import { Module } from '@nestjs/common';
import { SalonModule } from '../salon/index.js';
import { SkinTestsModule } from '../skin-tests/index.js';
import { Book } from './book.js';
import { BookEffects } from './effects.js';
import { NextFree } from './next-free.js';
import { Slots } from './slots.js';

@Module({
  imports: [SalonModule, SkinTestsModule],
  providers: [Book, BookEffects, Slots, NextFree],
  exports: [Book, BookEffects, Slots],
})
export class BookModule {}
