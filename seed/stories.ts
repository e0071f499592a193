import { bear, type LifeWish } from './births.js';
import type { Calendar, Day } from './calendar.js';
import type { Chairs, Seat } from './chairs.js';
import { applySkinTest } from './colour.js';
import type { Dice } from './dice.js';
import type { History } from './history.js';
import type { Life } from './life.js';
import type { People } from './people.js';
import type { Rows } from './rows.js';
import type { DemoSalon, ServiceKey, Stylist } from './salon.js';
import type { Shape } from './shape-terms.js';
import { growingOut } from './shapes.js';
import { LAYERED_PIXIE, LONG_BACKED_CROP } from './shapes-in-layers.js';
import { GRADUATED_BOB, ONE_LENGTH, UNDERCUT_BOB } from './shapes-with-weight.js';

const MINUTE_MS = 60_000;
const WEEK = 7;

/** A visit so many weeks before today; the last of all is today's. */
type Chapter = {
  readonly weeksAgo: number;
  readonly service: ServiceKey;
  readonly shape?: Shape;
  readonly skinTest?: boolean;
};

type StoryText = {
  readonly key: 'stacked-bob' | 'long-backed-crop' | 'growing-out' | 'lapsed-skin-test';
  readonly about: string;
  readonly wish: LifeWish & { readonly givenName: string; readonly familyName: string };
  readonly chapters: readonly Chapter[];
  readonly todays: { readonly service: ServiceKey; readonly notes: string };
};

const every = (weeks: number, times: number, first: number): Chapter[] =>
  Array.from({ length: times }, (_, i) => ({ weeksAgo: first - i * weeks, service: 'fullCut' }));

const STORIES: readonly StoryText[] = [
  {
    key: 'stacked-bob',
    about: 'a stacked bob with nape undercut',
    wish: {
      givenName: 'Ingrid',
      familyName: 'Ashgrove',
      shape: UNDERCUT_BOB,
      likesTidies: true,
      notes: 'Nape grows upwards: undercut it or the stack lifts.',
      statedHair: { texture: 'straight' },
      healthNotes: 'Contact allergy to nickel: no metal clips against the skin.',
    },
    chapters: [
      { weeksAgo: 60, service: 'reshape' },
      ...every(6, 9, 54),
      { weeksAgo: 3, service: 'napeTidy' },
    ],
    todays: { service: 'fullCut', notes: '' },
  },
  {
    key: 'long-backed-crop',
    about: 'a long-backed layered crop',
    wish: {
      givenName: 'Marguerite',
      familyName: 'Okonjo',
      shape: LONG_BACKED_CROP,
      likesTidies: false,
      notes: 'Keep the length at the nape whatever she says on a hot day.',
      statedHair: { texture: 'wavy' },
    },
    chapters: [
      { weeksAgo: 46, service: 'reshape' },
      ...every(7, 6, 40),
      { weeksAgo: 2, service: 'fringeTidy' },
    ],
    todays: { service: 'fullCut', notes: '' },
  },
  {
    key: 'growing-out',
    about: 'a pixie being grown out',
    wish: {
      givenName: 'Saoirse',
      familyName: 'Lindqvist',
      shape: LAYERED_PIXIE,
      likesTidies: false,
      notes: 'Growing the pixie out to a bob; nape outline only until it is there.',
      statedHair: { texture: 'wavy' },
    },
    chapters: [
      ...every(5, 8, 50),
      { weeksAgo: 10, service: 'napeTidy', shape: growingOut(LAYERED_PIXIE, ONE_LENGTH) },
      { weeksAgo: 5, service: 'napeTidy' },
    ],
    todays: { service: 'napeTidy', notes: 'Outline of the nape only.' },
  },
  {
    key: 'lapsed-skin-test',
    about: 'a colour whose skin test has lapsed',
    wish: {
      givenName: 'Rosamund',
      familyName: 'Tolvanen',
      shape: GRADUATED_BOB,
      likesTidies: false,
      colours: true,
      notes: 'Colours every other visit.',
      statedHair: { texture: 'straight' },
      healthNotes: '',
    },
    chapters: [
      { weeksAgo: 37, service: 'fullCut' },
      { weeksAgo: 31, service: 'fullCut', skinTest: true },
      { weeksAgo: 25, service: 'colour' },
      { weeksAgo: 18, service: 'colour' },
      { weeksAgo: 12, service: 'colour' },
      { weeksAgo: 6, service: 'fullCut' },
    ],
    todays: { service: 'fullCut', notes: 'Asks for her colour too: the skin test on record has lapsed.' },
  },
];

export type Story = {
  readonly key: StoryText['key'];
  readonly name: string;
  readonly about: string;
  readonly clientId: string;
  /** Today's appointment, which is still to come when the demo starts, or the day's last when it starts late. */
  readonly today: { readonly staffId: string; readonly startsAt: number };
};

/** The stylist of the stories: of those who cut today the one who stays longest. */
function storyTeller(shop: DemoSalon, chairs: Chairs, today: Day): Stylist {
  const last = ({ staff }: Stylist) => chairs.starts(staff.id, today, 45).at(-1) ?? -1;
  return shop.stylists.reduce((best, stylist) => (last(stylist) > last(best) ? stylist : best));
}

/** Plays the named stories up to today's appointments, which wait to be walked through. */
export function tellStories(
  stage: {
    rows: Rows;
    calendar: Calendar;
    shop: DemoSalon;
    chairs: Chairs;
    history: History;
    people: People;
  },
  dice: () => Dice,
): { stories: Story[]; lives: Life[] } {
  const { rows, calendar, shop, chairs, history, people } = stage;
  const stylist = storyTeller(shop, chairs, calendar.today);
  const lives: Life[] = [];
  const stories = STORIES.map((text): Story => {
    const { key, about, wish, chapters, todays } = text;
    const first = calendar.today - WEEK * chapters[0]!.weeksAgo;
    const life = bear(people, dice(), first, stylist, { colours: false, ...wish, reachable: true });
    lives.push(life);
    const seat = seatToday(calendar, chairs, stylist, shop.services[todays.service].minutes);
    const turnTo = (page: number, bookedAt: number) => {
      const chapter = chapters[page];
      if (!chapter) {
        const { today: day } = calendar;
        history.book(life, { day, earliest: day, seat, ...todays, fate: 'waits', bookedAt });
        return;
      }
      if (chapter.shape) life.shape = chapter.shape;
      const day = calendar.today - WEEK * chapter.weeksAgo;
      history.book(life, { day, earliest: day, service: chapter.service, fate: 'done', bookedAt });
    };
    let page = 0;
    turnTo(page, calendar.at(first - 6, 660));
    history.live(life, (closedAt) => {
      if (chapters[page]?.skinTest) applySkinTest(rows, calendar, life, closedAt - 20 * MINUTE_MS);
      page += 1;
      turnTo(page, closedAt + MINUTE_MS);
    });
    return {
      key,
      about,
      name: `${wish.givenName} ${wish.familyName}`,
      clientId: life.client.id,
      today: { staffId: stylist.staff.id, startsAt: calendar.at(seat.day, seat.from) },
    };
  });
  return { stories, lives };
}

/** The next free seat of today, or the day's last ones when the demo is started late. */
function seatToday(calendar: Calendar, chairs: Chairs, stylist: Stylist, minutes: number): Seat {
  const starts = chairs.starts(stylist.staff.id, calendar.today, minutes);
  const ahead = starts.find((start) => start >= calendar.nowMinute);
  return chairs.take(stylist.staff.id, calendar.today, ahead ?? starts.at(-1)!, minutes);
}
