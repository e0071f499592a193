import { Module } from '@nestjs/common';
import { Clock } from '../base/index.js';
import { BookModule, ClientLinks, WaitingOffers } from '../book/index.js';
import { ClientsModule } from '../clients/index.js';
import { RebookingModule } from '../rebooking/index.js';
import { Reader, SETTINGS, type Settings, UnitOfWork } from '../store/index.js';
import { BookMessages } from './book-messages.js';
import { channelsOf } from './channels.js';
import { DISPATCH_POLICY, policyFor } from './dispatch-policy.js';
import { Dispatcher } from './dispatcher.js';
import { Invitations } from './invitations.js';
import { Judge } from './judge.js';
import { Links } from './links.js';
import { Lookups } from './lookups.js';
import { MailReports } from './mail-reports.js';
import { MessageContacts } from './message-contacts.js';
import { MessageEffects } from './message-effects.js';
import { MessageLeases } from './message-leases.js';
import { Messages } from './messages.js';
import { NudgeExclusions } from './nudge-exclusions.js';
import { OutboxSender } from './outbox-sender.js';
import { PrivatePaths } from './private-paths.js';
import { Runs } from './runs.js';
import { SalonRules } from './salon-rules.js';
import { SalonWords } from './salon-words.js';
import { Sender, TextSender } from './sender.js';
import { Standings } from './standings.js';
import { MessageTemplates, messageTemplatesDir } from './templates.js';
import { NoTextGateway, TextGateway } from './text-gateway.js';
import { TextReports } from './text-reports.js';
import { Unsubscribe } from './unsubscribe.js';
import { Upkeep } from './upkeep.js';
import { WaitingMessages } from './waiting-messages.js';

@Module({
  imports: [BookModule, ClientsModule, RebookingModule],
  providers: [
    Messages,
    BookMessages,
    WaitingMessages,
    MessageContacts,
    MessageEffects,
    NudgeExclusions,
    Invitations,
    Dispatcher,
    Judge,
    Lookups,
    Standings,
    Upkeep,
    TextReports,
    MailReports,
    Unsubscribe,
    Runs,
    SalonRules,
    SalonWords,
    {
      provide: DISPATCH_POLICY,
      inject: [SETTINGS],
      useFactory: ({ sendWithinMs }: Settings) => policyFor(sendWithinMs),
    },
    { provide: MessageTemplates, useFactory: () => new MessageTemplates(messageTemplatesDir()) },
    { provide: Links, inject: [SETTINGS], useFactory: (settings: Settings) => new Links(settings) },
    {
      provide: PrivatePaths,
      inject: [ClientLinks, WaitingOffers, Clock],
      useFactory: (links: ClientLinks, offers: WaitingOffers, clock: Clock) =>
        new PrivatePaths(links, offers, clock),
    },
    {
      provide: MessageLeases,
      inject: [UnitOfWork, Reader, Clock, PrivatePaths, SETTINGS, MessageEffects],
      useFactory: (
        units: UnitOfWork,
        reader: Reader,
        clock: Clock,
        paths: PrivatePaths,
        settings: Settings,
        effects: MessageEffects,
      ) => new MessageLeases(units, reader, clock, paths, channelsOf(settings), effects),
    },
    {
      provide: Sender,
      inject: [SETTINGS],
      useFactory: async ({ smtpUrl, outboxDir }: Settings) => {
        if (!smtpUrl) return new OutboxSender(outboxDir);
        const { SmtpSender } = await import('./smtp-sender.js');
        return new SmtpSender(smtpUrl);
      },
    },
    {
      provide: TextSender,
      inject: [SETTINGS, Clock],
      useFactory: ({ textGateway }: Settings, clock: Clock) =>
        textGateway ? new TextGateway(textGateway, () => clock.now()) : new NoTextGateway(),
    },
  ],
  exports: [
    MessageEffects,
    NudgeExclusions,
    Messages,
    Invitations,
    Dispatcher,
    Upkeep,
    TextReports,
    MailReports,
    Unsubscribe,
    Runs,
    SalonRules,
    SalonWords,
  ],
})
export class RemindersModule {}
