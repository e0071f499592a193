import type { Closure, RotaEntry } from '../src/salon/index.js';
import type { Calendar, Day } from './calendar.js';
import type { Dice } from './dice.js';

const GRID_MINUTES = 15;

/** Start and end of a stretch, in minutes since midnight. */
type Span = { readonly from: number; readonly to: number };

export type Seat = {
  readonly staffId: string;
  readonly day: Day;
  readonly from: number;
  readonly to: number;
};

function minutes(time: string): number {
  return Number(time.slice(0, 2)) * 60 + Number(time.slice(3));
}

/** Who is taken when, while the demo's book is being filled. */
export class Chairs {
  private readonly taken = new Map<string, Span[]>();

  constructor(
    private readonly calendar: Calendar,
    private readonly rota: readonly RotaEntry[],
    private readonly closures: readonly Closure[],
  ) {}

  /** Free starts on the quarter hour at which that many minutes fit. */
  starts(staffId: string, day: Day, length: number): number[] {
    const busy = this.taken.get(`${staffId} ${day}`) ?? [];
    const starts: number[] = [];
    for (const { from, to } of this.worked(staffId, day)) {
      for (let start = from; start + length <= to; start += GRID_MINUTES) {
        if (busy.every((span) => start >= span.to || start + length <= span.from)) starts.push(start);
      }
    }
    return starts;
  }

  /** Minutes worked and minutes taken on a day. */
  load(staffId: string, day: Day): { worked: number; taken: number } {
    const sum = (spans: readonly Span[]) => spans.reduce((total, { from, to }) => total + to - from, 0);
    return {
      worked: sum(this.worked(staffId, day)),
      taken: sum(this.taken.get(`${staffId} ${day}`) ?? []),
    };
  }

  take(staffId: string, day: Day, from: number, length: number): Seat {
    const key = `${staffId} ${day}`;
    const seat = { staffId, day, from, to: from + length };
    this.taken.set(key, [...(this.taken.get(key) ?? []), seat]);
    return seat;
  }

  free({ staffId, day, from }: Seat): void {
    const key = `${staffId} ${day}`;
    this.taken.set(
      key,
      (this.taken.get(key) ?? []).filter((span) => span.from !== from),
    );
  }

  /**
   * Takes a seat as near to the wanted day as there is one, not before `earliest`: with the first stylist
   * within a few days, else with any of the others.
   */
  seatNear(
    dice: Dice,
    staffIds: readonly string[],
    wanted: Day,
    earliest: Day,
    length: number,
  ): Seat | undefined {
    for (const reach of [4, 12]) {
      for (const staffId of staffIds) {
        for (let away = 0; away <= reach; away += 1) {
          for (const day of away === 0 ? [wanted] : [wanted - away, wanted + away]) {
            const starts = day < earliest ? [] : this.starts(staffId, day, length);
            if (starts.length > 0) return this.take(staffId, day, dice.pick(starts), length);
          }
        }
      }
    }
    return undefined;
  }

  private worked(staffId: string, day: Day): Span[] {
    const date = this.calendar.date(day);
    const shut = this.closures.some(
      (closure) =>
        (closure.staffId === null || closure.staffId === staffId) &&
        closure.startsOn <= date &&
        date <= closure.endsOn,
    );
    if (shut) return [];
    const weekday = this.calendar.weekday(day);
    return this.rota
      .filter((entry) => entry.staffId === staffId && entry.weekday === weekday)
      .map(({ startsAt, endsAt }) => ({ from: minutes(startsAt), to: minutes(endsAt) }));
  }
}
