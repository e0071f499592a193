import { dateIn, daysBetween } from '../base/index.js';
import type { Slot } from '../book/index.js';
import { CHANNELS, type Channel } from '../clients/index.js';
import type { DueClient, NotNowReason } from '../rebooking/index.js';
import type { Salon } from '../salon/index.js';
import { windowView } from './card-view.js';
import { dayText, shortDay } from './days.js';
import type { Setting } from './front.js';
import { offeredSlots } from './slot-view.js';
import { counted, phoneText } from './words.js';

export const NOT_NOW_WORDS: Record<NotNowReason, string> = {
  'will-ring': 'will ring',
  'no-diary': 'has no diary at hand',
  away: 'is away',
  price: 'the price',
  'growing-out': 'growing it out',
  'not-happy': 'not happy with the cut',
  other: 'another reason',
};

const CHANNEL_WORDS: Record<Channel, string> = { mail: 'mail', text: 'text' };

/** A probability from 0 to 1 that the shape has gone, in plain words and as a number. */
export function goneText(probability: number): string {
  const percent = Math.round(100 * probability);
  const words =
    percent >= 95
      ? 'Almost surely gone'
      : percent >= 75
        ? 'Very probably gone'
        : percent >= 50
          ? 'Probably gone'
          : percent >= 25
            ? 'May have gone'
            : 'Probably still holds';
  // Nothing is certain: neither end is told as if it were.
  const number = percent >= 100 ? 'over 99\u00a0%' : percent <= 0 ? 'under 1\u00a0%' : `${percent}\u00a0%`;
  return `${words}: ${number}`;
}

/** Where today stands against the window. */
function standsText({ dueOn, latestOn }: DueClient, today: string): string {
  const late = daysBetween(latestOn, today);
  if (late > 0) return `window passed ${counted(late, 'day')} ago`;
  const toGo = daysBetween(today, dueOn);
  if (toGo < 0) return `due ${counted(-toGo, 'day')} ago`;
  return toGo === 0 ? 'due today' : `due in ${counted(toGo, 'day')}`;
}

/** What she answered to invitations, channel by channel. */
function consentText({ mayInvite }: DueClient): string {
  const words = CHANNELS.map((channel) => {
    const answer = mayInvite[channel];
    return `${CHANNEL_WORDS[channel]} ${answer === null ? 'not asked' : answer ? 'yes' : 'no'}`;
  });
  return words.join(', ');
}

/** Whether an invitation can go: she said yes for a channel that is set up, and there is an address. */
function canInvite({ mayInvite, email, phone }: DueClient, channels: readonly Channel[]): boolean {
  const address = { mail: email, text: phone };
  return channels.some((channel) => mayInvite[channel] === true && address[channel]);
}

function notNowText({ notNow }: DueClient, salon: Salon, { spoken }: Setting): string {
  if (!notNow) return '';
  const on = shortDay(dateIn(salon.zone, notNow.saidAt), spoken);
  const again = notNow.askAgainOn ? `; ask again from ${shortDay(notNow.askAgainOn, spoken)}` : '';
  const words = notNow.words ? ` “${notNow.words}”` : '';
  return `Not now, said ${on}: ${NOT_NOW_WORDS[notNow.reason]}.${words}${again}`;
}

/** One client who is due and not booked; `best` is the free time offered for one press. */
export function dueRow(
  client: DueClient,
  setting: Setting,
  channels: readonly Channel[],
  best: Slot | undefined,
) {
  const { salon, today, ruler, spoken } = setting;
  const { lastContact } = client;
  const slot = best && offeredSlots([best], spoken)[0];
  return {
    clientId: client.clientId,
    name: client.clientName.trim(),
    knownAs: client.knownAs,
    phone: client.phone,
    number: client.phone && phoneText(client.phone),
    email: client.email,
    sign: client.goneProbability >= 0.75 ? 'failed' : client.goneProbability >= 0.5 ? 'late' : 'booked',
    gone: goneText(client.goneProbability),
    stands: standsText(client, today),
    window: windowView(client, ruler, spoken),
    contact: lastContact && `${lastContact.what}, ${dayText(dateIn(salon.zone, lastContact.at), spoken)}`,
    consents: consentText(client),
    canInvite: canInvite(client, channels),
    notNow: notNowText(client, salon, setting),
    slot,
  };
}
