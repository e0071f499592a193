import { Module } from '@nestjs/common';
import { BookModule } from '../book/index.js';
import { ClientsModule } from '../clients/index.js';
import { ColourModule } from '../colour/index.js';
import { ConsultationsModule } from '../consultations/index.js';
import { CutsModule } from '../cuts/index.js';
import { ExchangeModule } from '../exchange/index.js';
import { PhotosModule } from '../photos/index.js';
import { PrivacyModule } from '../privacy/index.js';
import { RebookingModule } from '../rebooking/index.js';
import { RemindersModule } from '../reminders/index.js';
import { ReportsModule } from '../reports/index.js';
import { SalonModule } from '../salon/index.js';
import { SkinTestsModule } from '../skin-tests/index.js';
import { WebhooksModule } from '../webhooks/index.js';
import { AccountController } from './account.controller.js';
import { AppointmentsController, DrawingsController, HoldOutController } from './appointments.controller.js';
import { BookController } from './book.controller.js';
import { CalendarController } from './calendar.controller.js';
import { ClientNotesController } from './client-notes.controller.js';
import { ClientsController } from './clients.controller.js';
import { ColourController } from './colour.controller.js';
import { ConsultationsController } from './consultations.controller.js';
import { DraftsController } from './drafts.controller.js';
import { GuestsController } from './guests.controller.js';
import { ImportsController } from './imports.controller.js';
import { LinksController } from './links.controller.js';
import { MessageRunsController } from './message-runs.controller.js';
import { MessageWordsController } from './message-words.controller.js';
import { MailsController, MessagesController, TextsController } from './messages.controller.js';
import { PeopleController } from './people.controller.js';
import { PhotosController } from './photos.controller.js';
import { AuditController, PrivacyController } from './privacy.controller.js';
import { ProblemsController } from './problems.controller.js';
import { ReportsController } from './reports.controller.js';
import { SalonController } from './salon.controller.js';
import { SalonSetupController } from './salon-setup.controller.js';
import { SeriesController } from './series.controller.js';
import { SessionsController } from './sessions.controller.js';
import { ShapeController } from './shape.controller.js';
import { SkinTestsController } from './skin-tests.controller.js';
import { StaffingController } from './staffing.controller.js';
import { TokensController } from './tokens.controller.js';
import { WaitingListController } from './waiting-list.controller.js';
import { WaysInController } from './ways-in.controller.js';
import { WebhooksController } from './webhooks.controller.js';

@Module({
  imports: [
    SalonModule,
    ClientsModule,
    SkinTestsModule,
    CutsModule,
    ConsultationsModule,
    PhotosModule,
    ColourModule,
    BookModule,
    RebookingModule,
    RemindersModule,
    ReportsModule,
    PrivacyModule,
    WebhooksModule,
    ExchangeModule,
  ],
  controllers: [
    SessionsController,
    TokensController,
    SalonController,
    SalonSetupController,
    ClientsController,
    ShapeController,
    SkinTestsController,
    ConsultationsController,
    PhotosController,
    ColourController,
    DraftsController,
    BookController,
    SeriesController,
    WaitingListController,
    LinksController,
    ImportsController,
    CalendarController,
    MessagesController,
    TextsController,
    MailsController,
    ReportsController,
    ProblemsController,
    AccountController,
    PeopleController,
    WaysInController,
    MessageRunsController,
    MessageWordsController,
    StaffingController,
    GuestsController,
    PrivacyController,
    AuditController,
    AppointmentsController,
    DrawingsController,
    HoldOutController,
    ClientNotesController,
    WebhooksController,
  ],
})
export class ApiModule {}
