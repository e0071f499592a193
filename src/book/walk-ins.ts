import { Injectable } from '@nestjs/common';
import { IsInt, IsOptional, IsString, Length, Max, MaxLength, Min } from 'class-validator';
import type { EntityManager } from 'typeorm';
import { Blankable, Clock, DomainError, dateIn, NumberFromText, timeIn, validated } from '../base/index.js';
import { type ClientRecord, Clients, NewClientDto } from '../clients/index.js';
import type { Actor } from '../identity/index.js';
import { Salons } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { aheadOf } from './ahead.js';
import { Book } from './book.js';
import { Id, LAST_INSTANT } from './dto.js';
import { Appointment } from './entities.js';
import { type Slot, Slots } from './slots.js';

const MINUTE_MS = 60_000;
/** Whoever walks in is given a start that lies no farther ahead without being asked (ours). */
const WAITS_UNASKED_MS = 10 * MINUTE_MS;
const SLOTS_NAMED = 3;
/** Starts are written down to these steps. */
const ROUND_MS = 5 * MINUTE_MS;

/** Who walked in, either on record or new, and what she wants. */
export class WalkInInput {
  @Id('Salon: say which.')
  salonId: string;

  @Blankable()
  @Length(1, 36, { message: 'Client: choose who it is, or give a new one’s name.' })
  clientId?: string | null;

  /** Of somebody new. */
  @Blankable()
  @IsString({ message: 'Given name: give it as text.' })
  @MaxLength(80, { message: 'Given name: give at most 80 characters.' })
  givenName?: string | null;

  @Blankable()
  @IsString({ message: 'Family name: give it as text.' })
  @MaxLength(80, { message: 'Family name: give at most 80 characters.' })
  familyName?: string | null;

  @Blankable()
  @IsString({ message: 'Phone: give the number as text.' })
  @MaxLength(40, { message: 'Phone: give at most 40 characters.' })
  phone?: string | null;

  @Id('Service: choose what is to be done.')
  serviceId: string;

  /** Whoever is free first when left out. */
  @Blankable()
  @Id('Stylist: choose who does it, or nobody for whoever is free first.')
  staffId?: string | null;

  /** A start that she agreed to wait for: milliseconds since 1970 in UTC. */
  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'Start: give it as whole milliseconds since 1970.' })
  @Min(0, { message: 'Start: give an instant after 1970.' })
  @Max(LAST_INSTANT, { message: 'Start: give an instant before 2100.' })
  startsAt?: number | null;
}

export type WalkedIn = { readonly appointment: Appointment; readonly client: ClientRecord };

/** Clients who come without an appointment. */
@Injectable()
export class WalkIns {
  constructor(
    private readonly clock: Clock,
    private readonly salons: Salons,
    private readonly clients: Clients,
    private readonly slots: Slots,
    private readonly book: Book,
    private readonly reader: Reader,
  ) {}

  /**
   * Gives whoever stands at the desk a chair now, or else the first free start of today, and marks her as arrived, with
   * her record made in passing when she is new; all or nothing. Throws WALK_IN.NAME_MISSING, WALK_IN.NOBODY_FREE naming the next free
   * slots of today when she would have to wait for more than ten minutes and was not asked, and the codes of
   * `Clients.add` and `Book.book`.
   */
  async take(input: unknown, actor: Actor): Promise<WalkedIn> {
    const wanted = await validated(WalkInInput, input);
    const { clientId, givenName, familyName, phone, salonId } = wanted;
    if (!clientId && !givenName) {
      const message = 'Given name: write it, or choose somebody on record.';
      throw DomainError.invalid('WALK_IN.NAME_MISSING', 'givenName', message);
    }
    const guest = clientId
      ? undefined
      : await validated(NewClientDto, {
          salonId,
          givenName,
          ...(familyName && { familyName }),
          ...(phone && { phone }),
        });
    // What is wrong with her record is told before anybody is asked to wait.
    if (guest) await this.clients.check(guest, actor);
    const appointment =
      (typeof wanted.startsAt === 'number' ? undefined : await this.atOnce(wanted, guest, actor)) ??
      (await this.later(wanted, guest, actor));
    return { appointment, client: await this.clients.get(appointment.clientId) };
  }

  /** From the running five minutes on, with the first stylist who can; undefined when nobody can. */
  private async atOnce(
    wanted: WalkInInput,
    guest: NewClientDto | undefined,
    actor: Actor,
  ): Promise<Appointment | undefined> {
    const startsAt = Math.floor(this.clock.now() / ROUND_MS) * ROUND_MS;
    const preferred = wanted.clientId ? (await this.clients.get(wanted.clientId)).preferredStaffId : null;
    const stylists = (await this.salons.staff(wanted.salonId))
      .filter(({ id, active, cutsHair }) => active && cutsHair && (!wanted.staffId || id === wanted.staffId))
      .sort((a, b) => Number(b.id === preferred) - Number(a.id === preferred));
    try {
      return await this.book.change(async (manager) => {
        const clientId = await this.clientIn(manager, wanted, guest, actor);
        for (const { id: staffId } of stylists) {
          const booked = await this.book
            .bookIn(manager, { clientId, staffId, serviceId: wanted.serviceId, startsAt }, actor)
            .catch(unlessBusy);
          if (booked) return await this.book.arriveIn(manager, booked.id, actor);
        }
        // Rolls back, with the record of somebody new.
        throw new NobodyNow();
      });
    } catch (error) {
      if (error instanceof NobodyNow) return undefined;
      throw error;
    }
  }

  /** At a start that she agreed to, or at one so near that nobody need be asked. */
  private async later(
    wanted: WalkInInput,
    guest: NewClientDto | undefined,
    actor: Actor,
  ): Promise<Appointment> {
    const { serviceId } = wanted;
    const { staffId, startsAt } = await this.startOf(wanted);
    return await this.book.change(async (manager) => {
      const clientId = await this.clientIn(manager, wanted, guest, actor);
      const booked = await this.book.bookIn(manager, { clientId, staffId, serviceId, startsAt }, actor);
      return await this.book.arriveIn(manager, booked.id, actor);
    });
  }

  private async clientIn(
    manager: EntityManager,
    { clientId }: WalkInInput,
    guest: NewClientDto | undefined,
    actor: Actor,
  ): Promise<string> {
    return guest ? (await this.clients.addIn(manager, guest, actor)).id : (clientId ?? '');
  }

  private async startOf({
    salonId,
    clientId,
    serviceId,
    staffId,
    startsAt,
  }: WalkInInput): Promise<{ staffId: string; startsAt: number }> {
    if (staffId && typeof startsAt === 'number') return { staffId, startsAt };
    const { zone } = await this.salons.get(salonId);
    const now = this.clock.now();
    const today = dateIn(zone, now);
    const found = await this.slots.find({
      salonId,
      serviceId,
      ...(staffId && { staffId }),
      fromDate: today,
      toDate: today,
      limit: 1000,
    });
    // She cannot sit in two chairs.
    const own = clientId ? await this.reader.manager.findBy(Appointment, aheadOf(clientId, now)) : [];
    const soonest = found
      .filter((slot) => !own.some((one) => slot.startsAt < one.endsAt && slot.endsAt > one.startsAt))
      .sort((a, b) => a.startsAt - b.startsAt);
    const first = soonest.find((slot) => slot.startsAt >= (startsAt ?? 0));
    if (first && (typeof startsAt === 'number' || first.startsAt <= now + WAITS_UNASKED_MS)) return first;
    throw nobodyFree(soonest, zone);
  }
}

/** Nobody can begin at once. */
class NobodyNow extends Error {}

/** What says that another stylist may be asked. */
const BUSY = new Set(['BOOK.TAKEN', 'BOOK.OUTSIDE_ROTA', 'BOOK.SKILL_MISSING', 'BOOK.RESOURCE_TAKEN']);

function unlessBusy(error: unknown): undefined {
  if (error instanceof DomainError && BUSY.has(error.code)) return undefined;
  throw error;
}

/** Of each stylist the first start, the soonest first. */
function nobodyFree(soonest: readonly Slot[], zone: string): DomainError {
  const firsts = soonest.filter(
    (slot, i) => soonest.findIndex(({ staffId }) => staffId === slot.staffId) === i,
  );
  const [first] = firsts;
  const message = first
    ? `Nobody is free for this before ${timeIn(zone, first.startsAt)}. Ask whether she will wait.`
    : 'Nobody is free for this any more today. A shorter service may fit, or book another day.';
  return new DomainError('conflict', 'WALK_IN.NOBODY_FREE', message, [{ field: 'staffId', message }], {
    nextFree: firsts.slice(0, SLOTS_NAMED),
  });
}
