/** What a salon's own programs can be told of, as the `type` of a CloudEvent. */
export const EVENT_TYPES = [
  'halfinch.appointment.booked',
  'halfinch.appointment.moved',
  'halfinch.appointment.cancelled',
  'halfinch.appointment.arrived',
  'halfinch.appointment.completed',
  'halfinch.appointment.missed',
  'halfinch.client.added',
  'halfinch.client.changed',
  'halfinch.client.erased',
  'halfinch.skin-test.placed',
  'halfinch.skin-test.read',
  'halfinch.offer.accepted',
  'halfinch.message.failed',
] as const;
export type EventType = (typeof EVENT_TYPES)[number];

/** Sent when somebody asks for it, to see whether it arrives. */
export const TEST_TYPE = 'halfinch.webhook.test';

/** Ids and instants only: whoever is told asks the API for the rest, which knows what may be told. */
export type EventData = Readonly<Record<string, string | number | null>>;
