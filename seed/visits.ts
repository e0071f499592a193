import type { WholeFormula } from '../src/cuts/index.js';
import { ZONES } from '../src/engine/zones.js';
import { windowColumns } from '../src/rebooking/index.js';
import type { Calendar } from './calendar.js';
import { cutZones, measureOnArrival } from './chairside.js';
import { writeFormula } from './formula-rows.js';
import { meanShape, windowAfter } from './holds.js';
import type { Booking, Life } from './life.js';
import type { Rows } from './rows.js';
import type { DemoSalon } from './salon.js';
import { rootBand, type Shape } from './shape-terms.js';

const MINUTE_MS = 60_000;
const MEASURED_SHARE = 0.5;

/** What a client who colours bears of undyed regrowth. */
const ROOT_BAND = rootBand('top', 18);

const VISIT_NOTES = [
  'Happy with it.',
  'A little closer at the nape next time.',
  'Wants the fringe softer.',
  'Kept 5 mm more over the whorl.',
  'Talked about going shorter in spring.',
  'Left ear stands out: kept a few mm over it.',
] as const;

/** Records visits as the salon's own code would: measurements teach, the cut becomes what stands, the window follows. */
export class VisitBook {
  private readonly houseFormulas = new Map<string, WholeFormula>();

  constructor(
    private readonly rows: Rows,
    private readonly calendar: Calendar,
    private readonly shop: DemoSalon,
  ) {}

  addHouseFormula(shape: Shape, whole: WholeFormula): void {
    this.houseFormulas.set(shape.name, whole);
  }

  /** Closes a visit a few minutes after its time; returns when. `appointmentId` is null for a walk-in. */
  close(life: Life, booking: Booking, appointmentId: string | null): number {
    const { dice, client } = life;
    const { seat, service } = booking;
    const { calendar, rows } = this;
    const closedAt = Math.min(calendar.at(seat.day, seat.to) + dice.whole(1, 4) * MINUTE_MS, calendar.now);
    const visitId = dice.id(closedAt);
    const kind = this.shop.services[service];
    if (service !== 'consultation') {
      if (life.whole && dice.chance(MEASURED_SHARE))
        measureOnArrival(rows, calendar, life, visitId, seat.day);
      this.cut(life, booking, closedAt);
    }
    const window = service === 'consultation' ? undefined : life.window;
    rows.visits.push({
      id: visitId,
      version: 1,
      salonId: this.shop.salon.id,
      clientId: client.id,
      staffId: seat.staffId,
      serviceId: kind.id,
      appointmentId,
      formulaId: service === 'consultation' ? null : (life.whole?.formula.id ?? null),
      visitOn: calendar.date(seat.day),
      closedAt,
      dayEndsAt: calendar.endOf(seat.day),
      priceMinor: kind.priceMinor,
      notes:
        service === 'consultation'
          ? 'Dry, before any water: hair and wishes talked over.'
          : dice.chance(0.2)
            ? dice.pick(VISIT_NOTES)
            : '',
      suggestedEarliestOn: window?.earliestOn ?? null,
      suggestedDueOn: window?.dueOn ?? null,
      suggestedLatestOn: window?.latestOn ?? null,
    });
    life.lastService = service;
    life.lastDay = seat.day;
    if (service !== 'consultation') life.visits += 1;
    return closedAt;
  }

  /** Rows that hold only the newest of each client: what is known of the growth, and the window. */
  keepNewest(life: Life): void {
    const { whole, client, dice } = life;
    const at = this.calendar.at(life.lastDay, 1140);
    if (life.measured) {
      this.rows.growth.push({ id: dice.id(at), version: 1, clientId: client.id, profile: life.profile });
    }
    if (!whole || whole.limits.length === 0) return;
    this.rows.windows.push({
      id: dice.id(at),
      salonId: this.shop.salon.id,
      clientId: client.id,
      formulaId: whole.formula.id,
      ...windowColumns(whole, life.profile, whole.formula.cutOn ?? '', meanShape(whole)),
      computedAt: this.calendar.now,
    });
  }

  private cut(life: Life, { seat, service }: Booking, closedAt: number): void {
    const tidied = this.shop.services[service].zones;
    cutZones(life, life.shape, tidied.length > 0 ? tidied : ZONES, seat.day);
    const shape =
      service === 'colour' ? { ...life.shape, limits: [...life.shape.limits, ROOT_BAND] } : life.shape;
    const source =
      life.whole?.formula.name === shape.name
        ? life.whole
        : (this.houseFormulas.get(shape.basedOn ?? shape.name) ?? life.whole);
    life.whole = writeFormula(
      this.rows,
      this.calendar,
      life.dice,
      shape,
      {
        salonId: this.shop.salon.id,
        clientId: life.client.id,
        basedOnId: source?.formula.id ?? null,
        day: seat.day,
        madeAt: closedAt,
      },
      life.hair,
    );
    life.window = windowAfter(life.whole, life.profile);
  }
}
