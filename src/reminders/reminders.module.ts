import { Module } from '@nestjs/common';
import { BookModule } from '../book/index.js';
import { SETTINGS, type Settings } from '../store/index.js';
import { BookMessages } from './book-messages.js';
import { DISPATCH_POLICY, USUAL_POLICY } from './dispatch-policy.js';
import { Dispatcher } from './dispatcher.js';
import { MessageLeases } from './message-leases.js';
import { Messages } from './messages.js';
import { OutboxSender } from './outbox-sender.js';
import { Sender } from './sender.js';
import { SmtpSender } from './smtp-sender.js';
import { MessageTemplates, messageTemplatesDir } from './templates.js';

@Module({
  imports: [BookModule],
  providers: [
    Messages,
    BookMessages,
    MessageLeases,
    Dispatcher,
    { provide: DISPATCH_POLICY, useValue: USUAL_POLICY },
    { provide: MessageTemplates, useFactory: () => new MessageTemplates(messageTemplatesDir()) },
    {
      provide: Sender,
      inject: [SETTINGS],
      useFactory: ({ smtpUrl, outboxDir }: Settings) =>
        smtpUrl ? new SmtpSender(smtpUrl) : new OutboxSender(outboxDir),
    },
  ],
  exports: [Messages, Dispatcher],
})
export class RemindersModule {}
