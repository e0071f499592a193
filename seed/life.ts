import type { Client } from '../src/clients/index.js';
import type { WholeFormula } from '../src/cuts/index.js';
import type { GrowthProfile } from '../src/engine/growth/index.js';
import type { RebookingWindow } from '../src/engine/plan/index.js';
import type { Zone } from '../src/engine/zones.js';
import type { SkinTest } from '../src/skin-tests/index.js';
import type { Day } from './calendar.js';
import type { Seat } from './chairs.js';
import type { Dice } from './dice.js';
import type { ServiceKey, Stylist } from './salon.js';
import type { Shape } from './shape-terms.js';

/** A zone as it really is, which nobody in the salon knows, and as the record has it. */
export type ZoneHair = {
  readonly trueMm: number;
  readonly leftMm: number;
  readonly leftSdMm: number;
  readonly leftOn: Day;
};

export type Booking = {
  readonly seat: Seat;
  readonly service: ServiceKey;
  readonly bookedAt: number;
  /** Nobody booked: she walked in. */
  readonly walkIn: boolean;
  readonly notes: string;
  /** What will come of it once its time has passed; 'waits' stays booked all day for whoever tries the demo. */
  readonly fate: 'done' | 'cancelled' | 'no-show' | 'waits';
};

/** Days from visit to due, and how the client keeps to them. */
export type Habit = 'prompt' | 'late' | 'irregular';

/** One client's two years while they are being made up. */
export type Life = {
  readonly client: Client;
  readonly dice: Dice;
  readonly stylist: Stylist;
  readonly habit: Habit;
  /** Adds to the stylist's share of visits after which the next is booked at once. */
  readonly leaning: number;
  readonly likesTidies: boolean;
  readonly colourLine: string | null;
  readonly skinTests: SkinTest[];
  /** mm a day. */
  readonly trueRates: ReadonlyMap<Zone, number>;
  readonly hair: Map<Zone, ZoneHair>;
  shape: Shape;
  profile: GrowthProfile;
  measured: boolean;
  whole: WholeFormula | undefined;
  window: RebookingWindow | undefined;
  lastService: ServiceKey | undefined;
  lastDay: Day;
  visits: number;
  gone: boolean;
  next: Booking | undefined;
};
