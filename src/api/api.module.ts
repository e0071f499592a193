import { Module } from '@nestjs/common';
import { BookModule } from '../book/index.js';
import { ClientsModule } from '../clients/index.js';
import { CutsModule } from '../cuts/index.js';
import { RebookingModule } from '../rebooking/index.js';
import { RemindersModule } from '../reminders/index.js';
import { ReportsModule } from '../reports/index.js';
import { SalonModule } from '../salon/index.js';
import { SkinTestsModule } from '../skin-tests/index.js';
import { BookController } from './book.controller.js';
import { ClientsController } from './clients.controller.js';
import { MessagesController, TextsController } from './messages.controller.js';
import { ReportsController } from './reports.controller.js';
import { SalonController } from './salon.controller.js';
import { SessionsController } from './sessions.controller.js';
import { ShapeController } from './shape.controller.js';
import { SkinTestsController } from './skin-tests.controller.js';
import { TokensController } from './tokens.controller.js';

@Module({
  imports: [
    SalonModule,
    ClientsModule,
    SkinTestsModule,
    CutsModule,
    BookModule,
    RebookingModule,
    RemindersModule,
    ReportsModule,
  ],
  controllers: [
    SessionsController,
    TokensController,
    SalonController,
    ClientsController,
    ShapeController,
    SkinTestsController,
    BookController,
    MessagesController,
    TextsController,
    ReportsController,
  ],
})
export class ApiModule {}
