import type { WebhookDelivery } from './entities.js';

export const ENVELOPE_TYPE = 'application/cloudevents+json; charset=utf-8';

/** The event as CloudEvents 1.0 structured JSON; `source` is the salon's address at this installation. */
export function envelope(
  { eventId, type, subject, happenedAt, data }: WebhookDelivery,
  publicUrl: string,
  salonId: string,
): string {
  return JSON.stringify({
    specversion: '1.0',
    id: eventId,
    source: `${publicUrl}/salons/${salonId}`,
    type,
    time: new Date(happenedAt).toISOString(),
    subject,
    datacontenttype: 'application/json',
    data,
  });
}
