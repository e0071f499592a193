import { Module } from '@nestjs/common';
import { BookModule } from '../book/index.js';
import { ClientsModule } from '../clients/index.js';
import { CutsModule } from '../cuts/index.js';
import { RebookingModule } from '../rebooking/index.js';
import { RemindersModule } from '../reminders/index.js';
import { ReportsModule } from '../reports/index.js';
import { SalonModule } from '../salon/index.js';
import { AppointmentPages } from './appointment.pages.js';
import { BookPages } from './book.pages.js';
import { BookedAhead } from './booked-ahead.js';
import { CardPages } from './card.pages.js';
import { ClientsPages } from './clients.pages.js';
import { DuePages } from './due.pages.js';
import { FiguresPages } from './figures.pages.js';
import { Front } from './front.js';
import { MessagesPages } from './messages.pages.js';
import { RebookPages } from './rebook.pages.js';
import { SignInPages } from './sign-in.pages.js';
import { TodayPages } from './today.pages.js';
import { VisitPages } from './visit.pages.js';

@Module({
  imports: [
    SalonModule,
    ClientsModule,
    CutsModule,
    BookModule,
    RebookingModule,
    RemindersModule,
    ReportsModule,
  ],
  controllers: [
    SignInPages,
    TodayPages,
    ClientsPages,
    CardPages,
    RebookPages,
    VisitPages,
    AppointmentPages,
    BookPages,
    DuePages,
    MessagesPages,
    FiguresPages,
  ],
  providers: [Front, BookedAhead],
})
export class WebModule {}
