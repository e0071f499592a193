import type { Appointment } from '../src/book/index.js';
import type { Calendar, Day } from './calendar.js';
import type { Chairs, Seat } from './chairs.js';
import { applySkinTest, mayBookColour, needsSkinTest } from './colour.js';
import type { Booking, Life } from './life.js';
import type { Rows } from './rows.js';
import type { DemoSalon, ServiceKey } from './salon.js';
import { SHORTER } from './shapes.js';
import type { VisitBook } from './visits.js';

const MINUTE_MS = 60_000;
const DAY_MS = 86_400_000;

/** What becomes of a booking; ours, made up to look like a good salon's book. */
const FATES = [
  ['done', 90],
  ['cancelled', 6.5],
  ['no-show', 3.5],
] as const;
const MOVED = 0.06;
const WALKS_IN = 0.07;
const COMES_BACK_AFTER_MISSING = 0.85;
const LOST = { booked: 0.006, unbooked: 0.035 } as const;
const RESHAPES = 0.03;
/** A tidy lies about halfway through the hold; one that would come late becomes a full cut. */
const TIDY_AT = 0.55;
const TIDY_UNTIL = 0.8;
const USUAL_DAYS = 42;
const SHORTEST_DAYS = 7;
const READINGS = [
  ['clear', 95],
  [undefined, 4],
  ['reacted', 1],
] as const;

/** What is asked for: a chair near a day, with what and how it comes to be booked. */
export type Wish = {
  readonly day: Day;
  readonly earliest: Day;
  readonly service: ServiceKey;
  /** Booked then; undefined: some days ahead, or not at all for a walk-in. */
  readonly bookedAt?: number;
  readonly seat?: Seat;
  readonly notes?: string;
  readonly fate?: Booking['fate'];
};

/** Plays clients' bookings forward to now: what has passed becomes visits, what lies ahead stays in the book. */
export class History {
  constructor(
    private readonly rows: Rows,
    private readonly calendar: Calendar,
    private readonly shop: DemoSalon,
    private readonly chairs: Chairs,
    private readonly visits: VisitBook,
  ) {}

  /** Books a chair, unless that would only happen after now or there is none free. */
  book(life: Life, wish: Wish): void {
    const { dice } = life;
    const service = this.shop.services[wish.service];
    const seat =
      wish.seat ?? this.chairs.seatNear(dice, this.staffFor(life), wish.day, wish.earliest, service.minutes);
    if (!seat) return;
    const startsAt = this.calendar.at(seat.day, seat.from);
    const walkIn = wish.bookedAt === undefined && life.visits > 0 && dice.chance(WALKS_IN);
    const bookedAt = wish.bookedAt ?? this.someDaysBefore(life, seat, wish.earliest);
    const isAhead = walkIn
      ? this.calendar.at(seat.day, seat.to) > this.calendar.now
      : bookedAt > this.calendar.now;
    if (isAhead) {
      this.chairs.free(seat);
      return;
    }
    const mayColour = mayBookColour(this.calendar, life, bookedAt, seat.day, startsAt);
    const kept = wish.service === 'colour' && !mayColour ? 'fullCut' : wish.service;
    const booked = kept === wish.service ? seat : this.shorten(seat, kept);
    const fate = walkIn ? 'done' : (wish.fate ?? dice.weighted(FATES));
    life.next = { seat: booked, service: kept, bookedAt, walkIn, fate, notes: wish.notes ?? '' };
  }

  /** Plays on until the client has nothing more behind now; `follow` books what comes after a visit. */
  live(life: Life, follow?: (closedAt: number) => void): void {
    while (life.next) {
      const booking = life.next;
      life.next = undefined;
      const { seat } = booking;
      const startsAt = this.calendar.at(seat.day, seat.from);
      const endsAt = this.calendar.at(seat.day, seat.to);
      const { now } = this.calendar;
      if (booking.fate === 'done' && endsAt <= now) {
        const appointmentId = booking.walkIn ? null : this.write(life, booking, 'done', null);
        const closedAt = this.visits.close(life, booking, appointmentId);
        if (follow) follow(closedAt);
        else this.leave(life, seat, closedAt);
        continue;
      }
      const cancelledAt = startsAt - (startsAt - booking.bookedAt) * life.dice.whole(5, 60) * 0.01;
      if (booking.fate === 'cancelled' && cancelledAt <= now) {
        this.chairs.free(seat);
        this.write(life, booking, 'cancelled', Math.round(cancelledAt));
        this.afterMissing(life, seat, cancelledAt);
        continue;
      }
      if (booking.fate === 'no-show' && endsAt <= now) {
        this.write(life, booking, 'no-show', null);
        this.afterMissing(life, seat, endsAt);
        continue;
      }
      this.write(life, booking, booking.fate === 'done' && startsAt <= now ? 'arrived' : 'booked', null);
      life.next = booking;
      return;
    }
  }

  private staffFor(life: Life): string[] {
    const own = life.stylist.staff.id;
    return [own, ...this.shop.stylists.map(({ staff }) => staff.id).filter((id) => id !== own)];
  }

  private someDaysBefore(life: Life, seat: Seat, earliest: Day): number {
    const day = Math.max(earliest, seat.day - life.dice.whole(1, 9));
    return Math.min(
      this.calendar.at(day, life.dice.whole(9 * 60, 18 * 60)),
      this.calendar.at(seat.day, seat.from - life.dice.whole(30, 60)),
    );
  }

  private shorten(seat: Seat, service: ServiceKey): Seat {
    this.chairs.free(seat);
    return this.chairs.take(seat.staffId, seat.day, seat.from, this.shop.services[service].minutes);
  }

  private write(
    life: Life,
    { seat, service, bookedAt, notes }: Booking,
    state: Appointment['state'],
    cancelledAt: number | null,
  ): string {
    const { dice } = life;
    const id = dice.id(bookedAt);
    const startsAt = this.calendar.at(seat.day, seat.from);
    const endsAt = this.calendar.at(seat.day, seat.to);
    this.rows.appointments.push({
      id,
      version: 1,
      salonId: this.shop.salon.id,
      clientId: life.client.id,
      staffId: seat.staffId,
      serviceId: this.shop.services[service].id,
      startsAt,
      endsAt,
      state,
      bookedAt,
      bookedById: this.shop.deskAccountId,
      moves: dice.chance(MOVED) ? 1 : 0,
      cancelledAt,
      notes,
    });
    if (state !== 'cancelled' && state !== 'no-show') {
      this.rows.claims.push({
        id: dice.id(bookedAt),
        appointmentId: id,
        staffId: seat.staffId,
        startsAt,
        endsAt,
      });
    }
    return id;
  }

  private afterMissing(life: Life, seat: Seat, at: number): void {
    const { dice } = life;
    life.gone ||= !dice.chance(COMES_BACK_AFTER_MISSING);
    if (life.gone) return;
    const bookedAt = at + dice.whole(1, 8) * DAY_MS;
    const from = Math.max(seat.day, Math.floor(bookedAt / DAY_MS)) + 1;
    this.book(life, { day: from + dice.whole(2, 14), earliest: from, service: 'fullCut', bookedAt });
  }

  private leave(life: Life, seat: Seat, closedAt: number): void {
    const at = this.calendar.at(seat.day, seat.from) + 5 * MINUTE_MS;
    if (needsSkinTest(life, at)) {
      const result = life.dice.weighted(READINGS);
      applySkinTest(this.rows, this.calendar, life, at, result);
    }
    this.bookAgain(life, closedAt);
  }

  /** The next visit by the client's habit: booked before she leaves, or later on, or never. */
  private bookAgain(life: Life, closedAt: number): void {
    const { dice, window, lastDay } = life;
    if (life.lastService === 'consultation' || !window) {
      const day = lastDay + dice.whole(3, 12);
      this.book(life, { day, earliest: lastDay + 1, service: 'reshape', bookedAt: closedAt + MINUTE_MS });
      return;
    }
    const atCheckout = dice.chance(Math.min(0.95, Math.max(0.05, life.stylist.rebooks + life.leaning)));
    if (dice.chance(atCheckout ? LOST.booked : LOST.unbooked)) life.gone = true;
    if (life.gone && !atCheckout) return;
    const { service, day } = this.nextVisit(life, atCheckout);
    this.book(life, {
      day,
      earliest: lastDay + 1,
      service,
      ...(atCheckout && { bookedAt: Math.min(closedAt + dice.whole(1, 3) * MINUTE_MS, this.calendar.now) }),
      ...(life.gone && { fate: 'no-show' }),
    });
  }

  private nextVisit(life: Life, atCheckout: boolean): { service: ServiceKey; day: Day } {
    const { dice, lastService, lastDay, shape, window } = life;
    const due = this.calendar.day(window?.dueOn ?? this.calendar.date(lastDay + USUAL_DAYS)) - lastDay;
    const later = this.lateness(life) + (atCheckout ? 0 : dice.wait(9));
    const after = (days: number) => lastDay + Math.max(SHORTEST_DAYS, Math.round(days + later));
    const shorter = SHORTER.get(shape);
    if (shorter && dice.chance(RESHAPES)) {
      life.shape = shorter;
      return { service: 'reshape', day: after(due) };
    }
    const wasWhole = lastService !== 'napeTidy' && lastService !== 'fringeTidy';
    const tidyDay = after(TIDY_AT * due);
    if (life.likesTidies && wasWhole && tidyDay - lastDay < TIDY_UNTIL * due) {
      return { service: window?.first.zone === 'fringe' ? 'fringeTidy' : 'napeTidy', day: tidyDay };
    }
    const service = life.colourLine !== null && lastService !== 'colour' ? 'colour' : 'fullCut';
    return { service, day: after(due) };
  }

  private lateness({ dice, habit }: Life): number {
    switch (habit) {
      case 'prompt':
        return dice.normal(-1, 4);
      case 'late':
        return dice.wait(12);
      case 'irregular':
        return dice.normal(8, 12) + (dice.chance(0.12) ? dice.whole(30, 90) : 0);
    }
  }
}
