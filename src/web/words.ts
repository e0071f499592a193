import { parsePhoneNumberFromString } from 'libphonenumber-js';
import type { AppointmentState } from '../book/index.js';
import type { FormulaMethod, SectionDirection, Technique } from '../cuts/index.js';
import { ZONES, type Zone } from '../engine/zones.js';
import type { MessageState } from '../reminders/index.js';
import type { ServiceKind } from '../salon/index.js';

/** Words on the pages for what is stored under a key; the trade's own, as product.md lists them. */
export const ZONE_WORDS: Record<Zone, string> = {
  fringe: 'Fringe',
  top: 'Top',
  crown: 'Crown',
  'left-side': 'Left side',
  'right-side': 'Right side',
  back: 'Back',
  nape: 'Nape',
};

export const STATE_WORDS: Record<AppointmentState, string> = {
  booked: 'booked',
  arrived: 'arrived',
  done: 'complete',
  'no-show': 'no-show',
  cancelled: 'cancelled',
};

export const SECTION_WORDS: Record<SectionDirection, string> = {
  horizontal: 'horizontal',
  vertical: 'vertical',
  'diagonal-forward': 'diagonal forward',
  'diagonal-back': 'diagonal back',
  radial: 'radial',
};

export const METHOD_WORDS: Record<FormulaMethod, string> = {
  'travelling-guide': 'travelling guide',
  'stationary-guide': 'stationary guide',
  'natural-fall': 'cut in natural fall',
  'held-to-level': 'held up to a level',
  'clipper-guard': 'clipper with a guard',
  taper: 'taper',
  texture: 'texture only',
};

export const TECHNIQUE_WORDS: Record<Technique, string> = {
  club: 'club (blunt)',
  point: 'point',
  slice: 'slice',
  'scissor-over-comb': 'scissor over comb',
  'clipper-over-comb': 'clipper over comb',
  razor: 'razor',
};

export const SERVICE_WORDS: Record<ServiceKind, string> = {
  'full-cut': 'full cut',
  tidy: 'tidy',
  colour: 'colour',
  other: 'other',
};

export const MESSAGE_STATE_WORDS: Record<MessageState, string> = {
  owed: 'owed',
  sent: 'sent',
  failed: 'failed',
  withdrawn: 'withdrawn',
  unreachable: 'cannot be reached',
};

/** Kinds and reasons come to be added; an unknown one is shown by its key. */
export const MESSAGE_KIND_WORDS: Readonly<Record<string, string>> = {
  'appointment-confirmation': 'Confirmation',
  'appointment-reminder': 'Reminder',
  'appointment-change': 'Change of time',
  'appointment-cancellation': 'Cancellation',
  'skin-test-needed': 'Skin test needed',
  'skin-test-reading': 'Skin test to be read',
  'shape-due': 'Shape due',
  'no-show': 'After a no-show',
  'waiting-offer': 'Offer from the waiting list',
  'waiting-gone': 'Offer taken by another',
};

export const MESSAGE_REASON_WORDS: Readonly<Record<string, string>> = {
  'no-address': 'no address on record for messages',
  refused: 'the client wants no messages',
  moved: 'the appointment was moved',
  cancelled: 'the appointment was cancelled',
  over: 'the appointment is over',
  'too-late': 'it was too late to send it',
  booked: 'the client has an appointment by now',
  enough: 'the client was written to often enough lately',
  'left-out': 'the client is one of those left without invitations',
  stopped: 'somebody at the desk stopped it',
  undelivered: 'it did not arrive',
};

export type Option = { readonly value: string; readonly label: string };

/** A table of words as the choices of a form. */
export function optionsOf(words: Readonly<Record<string, string>>): Option[] {
  return Object.entries(words).map(([value, label]) => ({ value, label }));
}

export const ZONE_OPTIONS: readonly Option[] = ZONES.map((zone) => ({
  value: zone,
  label: ZONE_WORDS[zone],
}));

/** What to call a client in the chair and on lists. */
export function nameOf(client: {
  readonly givenName: string;
  readonly familyName: string;
  readonly knownAs?: string | null;
}): string {
  const known = client.knownAs && client.knownAs !== client.givenName ? ` “${client.knownAs}”` : '';
  return `${client.givenName}${known} ${client.familyName}`.trim();
}

/** "1 client", "3 clients". */
export function counted(count: number, one: string, many = `${one}s`): string {
  return `${count} ${count === 1 ? one : many}`;
}

/** An E.164 number as people read it: "+44 7700 900397". */
export function phoneText(e164: string): string {
  return parsePhoneNumberFromString(e164)?.formatInternational() ?? e164;
}
