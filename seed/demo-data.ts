import type { Zone } from '../src/engine/zones.js';
import { bear } from './births.js';
import { Calendar } from './calendar.js';
import { Chairs } from './chairs.js';
import { applySkinTest } from './colour.js';
import { Dice } from './dice.js';
import { writeFormula } from './formula-rows.js';
import { History } from './history.js';
import type { Life } from './life.js';
import { Letters } from './messages.js';
import { People } from './people.js';
import { Rows } from './rows.js';
import { openSalon, type Stylist } from './salon.js';
import { seat } from './seats.js';
import { HOUSE_SHAPES } from './shapes.js';
import { type Story, tellStories } from './stories.js';
import { VisitBook } from './visits.js';

export const DEMO_ZONE = 'Europe/London';
const SEED = 0x4a1f1c4;
const CLIENTS = 300;
const PAST_DAYS = 730;
/** Some have their first visit still before them. */
const SOON_DAYS = 7;
/** Share of clients who were there from the beginning; the others joined since. */
const FOUNDERS = 0.42;
const CONSULTED_FIRST = 0.15;
/** How full the coming days are made, of the time worked. */
const WANTED_LOAD = [0.85, 0.5, 0.4, 0.35] as const;

export type DemoData = {
  readonly rows: Rows;
  readonly stories: readonly Story[];
  /** By client: how fast each zone really grows, mm a day, which nothing in the database says. */
  readonly trueRates: ReadonlyMap<string, ReadonlyMap<Zone, number>>;
};

/**
 * The whole demo as rows: an invented salon with two years behind it, up to `now`. The same `now` and hashes give
 * the same rows. `passwordHash` gives the encoded hash of an account's password by its mail address.
 */
export function demoData(now: number, passwordHash: (email: string) => string, clients = CLIENTS): DemoData {
  const calendar = new Calendar(DEMO_ZONE, now);
  const rows = new Rows();
  const dice = new Dice(SEED);
  const shop = openSalon(rows, calendar, dice, passwordHash);
  const chairs = new Chairs(calendar, rows.rota, rows.closures);
  const visits = new VisitBook(rows, calendar, shop);
  const history = new History(rows, calendar, shop, chairs, visits);
  const people = new People(dice, calendar, shop, rows);
  let born = 0;
  const nextDice = () => new Dice(Math.imul(SEED + ++born, 0x9e3779b1));

  for (const [shape] of HOUSE_SHAPES) {
    const day = calendar.today - PAST_DAYS - 20;
    const place = {
      salonId: shop.salon.id,
      clientId: null,
      basedOnId: null,
      day,
      madeAt: calendar.at(day, 600),
    };
    visits.addHouseFormula(shape, writeFormula(rows, calendar, dice, shape, place));
  }
  const { stories, lives } = tellStories({ rows, calendar, shop, chairs, history, people }, nextDice);
  while (lives.length < clients) {
    const own = nextDice();
    const joined =
      calendar.today -
      (own.chance(FOUNDERS) ? PAST_DAYS - own.whole(0, 60) : own.whole(-SOON_DAYS, PAST_DAYS - 60));
    const life = bear(people, own, joined, chooseStylist(shop.stylists, own));
    lives.push(life);
    const service = own.chance(CONSULTED_FIRST) ? 'consultation' : 'fullCut';
    history.book(life, { day: joined, earliest: joined - 5, service, fate: 'done' });
    history.live(life);
  }
  fillComingDays(lives, { calendar, chairs, history, stylists: shop.stylists, dice });
  leaveOneTestUnread(rows, calendar, lives);
  for (const life of lives) visits.keepNewest(life);
  seat(rows, nextDice(), shop, calendar.at(calendar.today - PAST_DAYS - 30, 600));
  new Letters(rows, calendar, shop, dice).writeAll();
  return { rows, stories, trueRates: new Map(lives.map(({ client, trueRates }) => [client.id, trueRates])) };
}

function chooseStylist(stylists: readonly Stylist[], dice: Dice): Stylist {
  return dice.weighted(stylists.map((stylist, i) => [stylist, stylists.length - i / 2] as const));
}

/** Calls in clients who are due and not booked, until the coming days are as full as a good salon's. */
function fillComingDays(
  lives: readonly Life[],
  stage: { calendar: Calendar; chairs: Chairs; history: History; stylists: readonly Stylist[]; dice: Dice },
): void {
  const { calendar, chairs, history, stylists, dice } = stage;
  const { today } = calendar;
  const due = dice
    .shuffled(lives)
    .filter(({ next, gone, window }) => !next && !gone && window && calendar.day(window.dueOn) >= today - 60)
    .filter(({ window }) => calendar.day(window!.earliestOn) <= today + 7);
  for (const [ahead, wanted] of WANTED_LOAD.entries()) {
    for (const { staff } of stylists) {
      for (;;) {
        const { worked, taken } = chairs.load(staff.id, today + ahead);
        if (worked === 0 || taken >= wanted * worked) break;
        const life = due.pop();
        if (!life) return;
        const starts = chairs.starts(staff.id, today + ahead, 45);
        if (starts.length === 0) break;
        const seat = chairs.take(staff.id, today + ahead, dice.pick(starts), 45);
        const bookedAt = calendar.at(today - dice.whole(1, 5), dice.whole(600, 1020));
        history.book(life, { day: seat.day, earliest: today, service: 'fullCut', bookedAt, seat });
        history.live(life);
      }
    }
  }
}

/** Somebody's first test was applied a day ago: colour has to wait until it can be read. */
function leaveOneTestUnread(rows: Rows, calendar: Calendar, lives: readonly Life[]): void {
  const life = lives.find(
    ({ colourLine, client, next, whole, skinTests }) =>
      colourLine === null &&
      client.birthday !== null &&
      next?.fate === 'done' &&
      whole &&
      skinTests.length === 0,
  );
  if (!life) return;
  applySkinTest(
    rows,
    calendar,
    { ...life, colourLine: 'Ferncote Cream' },
    calendar.at(calendar.today - 1, 660),
  );
}
