import { growthPrior, initialProfile } from '../src/engine/growth/index.js';
import { ZONES, type Zone } from '../src/engine/zones.js';
import type { Day } from './calendar.js';
import type { Dice } from './dice.js';
import type { Life } from './life.js';
import type { People, PersonWish } from './people.js';
import type { Stylist } from './salon.js';
import type { Shape } from './shape-terms.js';
import { HOUSE_SHAPES } from './shapes.js';
import { COLOUR_LINES } from './words.js';

const COLOURS = 0.15;
const LIKES_TIDIES = 0.35;
/** Slower than any rate ever published for a healthy scalp; a throw of the dice below it is not believed. */
const SLOWEST_MM_PER_DAY = 0.15;

export type LifeWish = PersonWish & {
  readonly shape?: Shape;
  readonly likesTidies?: boolean;
};

/** A client who joins the salon: who she is, how her hair really grows and how she keeps to dates. */
export function bear(people: People, dice: Dice, joined: Day, stylist: Stylist, wish: LifeWish = {}): Life {
  const colours = wish.colours ?? dice.chance(COLOURS);
  const client = people.add(dice, joined, stylist.staff.id, { ...wish, colours });
  const { texture: _, ...stated } = client.statedHair ?? {};
  const prior = growthPrior(stated);
  return {
    client,
    dice,
    stylist,
    habit: dice.weighted([
      ['prompt', 50],
      ['late', 32],
      ['irregular', 18],
    ]),
    leaning: dice.normal(0, 0.12),
    likesTidies: wish.likesTidies ?? dice.chance(LIKES_TIDIES),
    colourLine: colours ? dice.pick(COLOUR_LINES) : null,
    skinTests: [],
    trueRates: growthOf(dice, prior),
    hair: new Map(),
    shape: wish.shape ?? dice.weighted(HOUSE_SHAPES),
    profile: initialProfile(prior),
    measured: false,
    whole: undefined,
    window: undefined,
    lastService: undefined,
    lastDay: joined,
    visits: 0,
    gone: false,
    next: undefined,
  };
}

/** The published spread: one deviation for the person, a smaller one for each zone (see `growthPrior`). */
function growthOf(dice: Dice, prior: ReturnType<typeof growthPrior>): Map<Zone, number> {
  const person = dice.normal(prior.meanMmPerDay, prior.personSdMmPerDay);
  return new Map(
    ZONES.map((zone) => [zone, Math.max(SLOWEST_MM_PER_DAY, person + dice.normal(0, prior.zoneSdMmPerDay))]),
  );
}
