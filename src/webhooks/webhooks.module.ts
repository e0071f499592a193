import { Module } from '@nestjs/common';
import { BookModule } from '../book/index.js';
import { ClientsModule } from '../clients/index.js';
import { RemindersModule } from '../reminders/index.js';
import { SkinTestsModule } from '../skin-tests/index.js';
import { WebhookDispatcher } from './webhook-dispatcher.js';
import { WebhookEvents } from './webhook-events.js';
import { USUAL_WEBHOOK_POLICY, WEBHOOK_POLICY } from './webhook-policy.js';
import { Webhooks } from './webhooks.js';

@Module({
  imports: [BookModule, ClientsModule, SkinTestsModule, RemindersModule],
  providers: [
    Webhooks,
    WebhookEvents,
    WebhookDispatcher,
    { provide: WEBHOOK_POLICY, useValue: USUAL_WEBHOOK_POLICY },
  ],
  exports: [Webhooks, WebhookDispatcher],
})
export class WebhooksModule {}
