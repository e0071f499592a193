export { WebhookInput } from './dto.js';
export { Webhook, WebhookDelivery } from './entities.js';
export { EVENT_TYPES, type EventType, TEST_TYPE } from './event-types.js';
export { sweepDeliveries } from './sweep-deliveries.js';
export { WebhookDispatcher } from './webhook-dispatcher.js';
export { type DeliveryLine, type WebhookLine, Webhooks } from './webhooks.js';
export { WebhooksModule } from './webhooks.module.js';
