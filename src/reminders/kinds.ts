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
const VISIT = [...EVERY, ...MOMENT, 'serviceName', 'stylistName', 'minutes'] as const;
const APPOINTMENT = [...VISIT, 'linkUrl'] as const;

type KindFacts = {
  /** 'appointment' is about what the client is waiting for; 'rebooking' invites, and wants a yes first. */
  readonly purpose: Purpose;
  /** Names its templates may use. */
  readonly names: readonly string[];
  /** What the private link in it (`linkUrl`) opens. */
  readonly link?: 'appointment' | 'offer' | 'shape';
};

/** What each kind of message is for and may speak of. Nothing about health, hair or notes belongs in here. */
export const KINDS: Readonly<Record<MessageKind, KindFacts>> = {
  'appointment-confirmation': { purpose: 'appointment', names: APPOINTMENT, link: 'appointment' },
  'appointment-reminder': { purpose: 'appointment', names: APPOINTMENT, link: 'appointment' },
  'appointment-change': { purpose: 'appointment', names: APPOINTMENT, link: 'appointment' },
  'appointment-cancellation': { purpose: 'appointment', names: VISIT },
  'skin-test-needed': {
    purpose: 'appointment',
    link: 'appointment',
    names: [...APPOINTMENT, 'testByDate', 'testByShort', 'testByTime'],
  },
  'skin-test-reading': { purpose: 'appointment', names: [...EVERY, ...MOMENT] },
  'shape-due': {
    purpose: 'rebooking',
    link: 'shape',
    names: [...EVERY, 'dueDate', 'dueShort', 'latestDate', 'linkUrl'],
  },
  'no-show': { purpose: 'rebooking', names: VISIT },
  // She asked to be told, by waiting.
  'waiting-offer': {
    purpose: 'appointment',
    link: 'offer',
    names: [...APPOINTMENT, 'untilDate', 'untilShort', 'untilTime'],
  },
  'waiting-gone': { purpose: 'appointment', names: VISIT },
};
