import type { Client, StatedHair } from '../src/clients/index.js';
import { searchTextOf } from '../src/clients/search-text.js';
import type { Calendar, Day } from './calendar.js';
import type { Dice } from './dice.js';
import type { Rows } from './rows.js';
import type { DemoSalon } from './salon.js';
import { CLIENT_NOTES, FAMILY_NAMES, GIVEN_NAMES, HEALTH_NOTES, NICKNAMES } from './words.js';

const YEAR_DAYS = 365.25;
/** A client is on the books some days before her first visit. */
const ADDED_BEFORE_DAYS = 10;

/** What a story fixes of its client; all else is thrown. */
export type PersonWish = Partial<
  Pick<Client, 'givenName' | 'familyName' | 'notes' | 'healthNotes' | 'statedHair'>
> & { readonly colours?: boolean; readonly reachable?: boolean };

/** Hands out every name and every number of the ranges kept for fiction once. */
export class People {
  private readonly names: (readonly [given: string, family: string])[];
  private readonly phones: string[];

  constructor(
    dice: Dice,
    private readonly calendar: Calendar,
    private readonly shop: DemoSalon,
    private readonly rows: Rows,
  ) {
    this.names = dice.shuffled(
      GIVEN_NAMES.flatMap((given) =>
        dice
          .shuffled(FAMILY_NAMES)
          .slice(0, 8)
          .map((family) => [given, family] as const),
      ),
    );
    this.phones = fictionPhones(dice, shop.salon.phone);
  }

  /** Adds a client on the day of the first visit, with the answers she gave about messages. */
  add(dice: Dice, joined: Day, preferredStaffId: string, wish: PersonWish = {}): Client {
    const [given, family] = this.names.pop() as readonly [string, string];
    const givenName = wish.givenName ?? given;
    const familyName = wish.familyName ?? family;
    const knownAs = wish.givenName === undefined && dice.chance(0.05) ? dice.pick(NICKNAMES) : null;
    const phone = wish.reachable || dice.chance(0.96) ? (this.phones.pop() ?? null) : null;
    const addedAt = this.calendar.at(joined - ADDED_BEFORE_DAYS, 9 * 60);
    const client: Client = {
      id: dice.id(addedAt),
      version: 1,
      salonId: this.shop.salon.id,
      givenName,
      familyName,
      knownAs,
      searchText: searchTextOf({ givenName, familyName, knownAs, phone }),
      phone,
      email: wish.reachable || dice.chance(0.9) ? `${mailName(givenName, familyName)}@example.org` : null,
      birthday:
        wish.colours || dice.chance(0.5)
          ? this.calendar.date(joined - Math.round(dice.whole(21, 78) * YEAR_DAYS) - dice.whole(0, 364))
          : null,
      language: null,
      preferredStaffId,
      notes: wish.notes ?? (dice.chance(0.3) ? dice.pick(CLIENT_NOTES) : ''),
      healthNotes: wish.healthNotes ?? (dice.chance(0.1) ? dice.pick(HEALTH_NOTES) : ''),
      headCircumferenceMm: dice.chance(0.08) ? Math.round(dice.normal(560, 17)) : null,
      whorlSide: dice.chance(0.12) ? dice.pick(['left', 'right', 'middle'] as const) : null,
      partingSide: dice.chance(0.12) ? dice.pick(['left', 'right', 'middle', 'none'] as const) : null,
      statedHair: wish.statedHair === undefined ? statedHair(dice) : wish.statedHair,
      addedAt,
    };
    this.rows.clients.push(client);
    this.askConsents(dice, client);
    return client;
  }

  private askConsents(dice: Dice, client: Client): void {
    if (client.email === null) return;
    const answer = (purpose: 'appointment' | 'rebooking', given: boolean, at: number) =>
      this.rows.consents.push({
        id: dice.id(at),
        clientId: client.id,
        channel: 'mail',
        purpose,
        given,
        at,
        source: 'desk',
        recordedById: this.shop.deskAccountId,
      });
    answer('appointment', dice.chance(0.94), client.addedAt);
    const yes = dice.chance(0.7);
    answer('rebooking', yes, client.addedAt);
    const later = client.addedAt + 86_400_000 * dice.whole(60, 300);
    if (yes && later < this.calendar.now && dice.chance(0.06)) answer('rebooking', false, later);
  }
}

/** One in six states an origin or an age; it is thrown apart from the name, from which nothing is ever guessed. */
function statedHair(dice: Dice): StatedHair | null {
  if (dice.chance(0.5)) return null;
  const texture = dice.pick(['straight', 'wavy', 'curly', 'coily'] as const);
  if (dice.chance(0.67)) return { texture };
  return dice.chance(0.6)
    ? { texture, ancestry: dice.pick(['african', 'asian', 'european'] as const) }
    : { texture, age: dice.pick(['young-adult', 'mature-adult', 'older-adult'] as const) };
}

function mailName(given: string, family: string): string {
  return `${given}.${family}`
    .normalize('NFKD')
    .replace(/[^a-zA-Z.-]/g, '')
    .toLowerCase();
}

/** Ofcom's numbers for drama and the North American 555-01xx, each once, mobiles first to be handed out. */
function fictionPhones(dice: Dice, salonPhone: string): string[] {
  const digits = (n: number, length: number) => String(n).padStart(length, '0');
  const range = (prefix: string, count: number, length: number) =>
    Array.from({ length: count }, (_, n) => `${prefix}${digits(n, length)}`);
  const others = [
    ...range('+442079460', 1000, 3),
    ...range('+441632960', 1000, 3),
    ...range('+1212555', 200, 4).slice(100),
  ].filter((phone) => phone !== salonPhone);
  const mobiles = dice.shuffled(range('+447700900', 1000, 3));
  return dice.shuffled([...mobiles.slice(0, 260), ...dice.shuffled(others).slice(0, 90)]);
}
