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
import { AccountPages } from './account.pages.js';
import { AppointmentPages } from './appointment.pages.js';
import { AuditPages } from './audit.pages.js';
import { BookPages } from './book.pages.js';
import { BookedAhead } from './booked-ahead.js';
import { CalendarPages } from './calendar.pages.js';
import { CardPages } from './card.pages.js';
import { CardDrawings } from './card-drawings.js';
import { ClientsPages } from './clients.pages.js';
import { ColourPages } from './colour.pages.js';
import { ConsentsPages } from './consents.pages.js';
import { ConsultationsPages } from './consultations.pages.js';
import { DuePages } from './due.pages.js';
import { FiguresPages } from './figures.pages.js';
import { FreedTimes } from './freed-times.js';
import { Front } from './front.js';
import { GateAnswers } from './gate-answers.js';
import { GuestAppointmentPages } from './guest-appointment.pages.js';
import { GuestNextPages } from './guest-next.pages.js';
import { GuestOfferPages } from './guest-offer.pages.js';
import { GuestRoom } from './guest-room.js';
import { ImportFormFilter, ImportList, ImportsPages } from './imports.pages.js';
import { LivePages } from './live.pages.js';
import { MessageRunsPages } from './message-runs.pages.js';
import { MessageTemplatesPages } from './message-templates.pages.js';
import { MessagesPages } from './messages.pages.js';
import { PeoplePages } from './people.pages.js';
import { PhotoFormFilter, PhotoGallery } from './photo-gallery.js';
import { PhotosPages } from './photos.pages.js';
import { PlanPages } from './plan.pages.js';
import { PrivacyPages } from './privacy.pages.js';
import { RebookPages } from './rebook.pages.js';
import { ReshapePages } from './reshape.pages.js';
import { SeriesPages } from './series.pages.js';
import { SetUpPages } from './set-up.pages.js';
import { SettingsPages } from './settings.pages.js';
import { SettingsRotaPages } from './settings-rota.pages.js';
import { SettingsServicesPages } from './settings-services.pages.js';
import { SettingsStaffPages } from './settings-staff.pages.js';
import { SettingsWebhooksPages } from './settings-webhooks.pages.js';
import { ShapePages } from './shape.pages.js';
import { SignInPages } from './sign-in.pages.js';
import { SkinTestsPages } from './skin-tests.pages.js';
import { TodayPages } from './today.pages.js';
import { UnsubscribePages } from './unsubscribe.pages.js';
import { VisitPages } from './visit.pages.js';
import { VisitDrafts } from './visit-drafts.js';
import { VisitLivePages } from './visit-live.pages.js';
import { VisitSittings } from './visit-sittings.js';
import { WaitingPages } from './waiting.pages.js';
import { WalkInPages } from './walk-in.pages.js';

@Module({
  imports: [
    SalonModule,
    ClientsModule,
    CutsModule,
    SkinTestsModule,
    ConsultationsModule,
    ColourModule,
    PhotosModule,
    BookModule,
    RebookingModule,
    RemindersModule,
    WebhooksModule,
    PrivacyModule,
    ReportsModule,
    ExchangeModule,
  ],
  controllers: [
    SignInPages,
    SetUpPages,
    AccountPages,
    PeoplePages,
    AuditPages,
    PrivacyPages,
    ImportsPages,
    TodayPages,
    ClientsPages,
    ConsentsPages,
    CardPages,
    ShapePages,
    PlanPages,
    ReshapePages,
    SkinTestsPages,
    ConsultationsPages,
    ColourPages,
    PhotosPages,
    RebookPages,
    VisitPages,
    VisitLivePages,
    AppointmentPages,
    BookPages,
    WalkInPages,
    DuePages,
    LivePages,
    WaitingPages,
    SeriesPages,
    CalendarPages,
    SettingsPages,
    SettingsServicesPages,
    SettingsStaffPages,
    SettingsWebhooksPages,
    SettingsRotaPages,
    MessageRunsPages,
    MessageTemplatesPages,
    MessagesPages,
    UnsubscribePages,
    GuestAppointmentPages,
    GuestNextPages,
    GuestOfferPages,
    FiguresPages,
  ],
  providers: [
    Front,
    BookedAhead,
    FreedTimes,
    CardDrawings,
    VisitSittings,
    VisitDrafts,
    GateAnswers,
    GuestRoom,
    PhotoGallery,
    PhotoFormFilter,
    ImportFormFilter,
    ImportList,
  ],
})
export class WebModule {}
