import type { Purpose } from '../clients/index.js';
import type { MessageKind } from './entities.js';

const EVERY = [
  'language',
  'clientName',
  'salonName',
  'salonAddress',
  'salonPhone',
  'salonPhoneLink',
  'unsubscribeUrl',
] as const;
const MOMENT = ['date', 'shortDate', 'time'] as const;
const APPOINTMENT = [...EVERY, ...MOMENT, 'serviceName', 'stylistName', 'minutes'] as const;

type KindFacts = {
  /** 'appointment' is about what the client is waiting for; 'rebooking' invites, and wants a yes first. */
  readonly purpose: Purpose;
  /** Names its templates may use. */
  readonly names: readonly string[];
};

/** What each kind of message is for and may speak of. Nothing about health, hair or notes belongs in here. */
export const KINDS: Readonly<Record<MessageKind, KindFacts>> = {
  'appointment-confirmation': { purpose: 'appointment', names: APPOINTMENT },
  'appointment-reminder': { purpose: 'appointment', names: APPOINTMENT },
  'appointment-change': { purpose: 'appointment', names: APPOINTMENT },
  'appointment-cancellation': { purpose: 'appointment', names: APPOINTMENT },
  'skin-test-needed': {
    purpose: 'appointment',
    names: [...APPOINTMENT, 'testByDate', 'testByShort', 'testByTime'],
  },
  'skin-test-reading': { purpose: 'appointment', names: [...EVERY, ...MOMENT] },
  'shape-due': {
    purpose: 'rebooking',
    names: [...EVERY, 'dueDate', 'dueShort', 'latestDate'],
  },
  'no-show': { purpose: 'rebooking', names: APPOINTMENT },
};
