import type {
  AppointmentState,
  BookDay,
  DayAppointment,
  DayColumn,
  LaidOutAppointment,
} from '../book/index.js';
import type { Stretch } from '../salon/index.js';
import { hourLabels, indentOf, lanesOf, meet, placeOf, type Rest, type Scale, scaleOf } from './day-grid.js';
import { STATE_WORDS } from './words.js';

const MINUTE_MS = 60_000;
/** A client this long after the start is late rather than on the doorstep (ours). */
const LATE_MINUTES = 5;
/** Shorter gaps are not worth offering. */
const LEAST_FREE_MINUTES = 15;
/** A block that is drawn lower than this has no room for a button of its own. */
const ROOMY_MINUTES = 35;
const USUAL_HOURS = { from: '09:00', hours: 9 } as const;
const NOT_WORKING = 'not working';
const HOLDS: readonly AppointmentState[] = ['booked', 'arrived', 'done'];

type Timed = Stretch & { readonly startTime: string; readonly endTime: string };
type Sat = { readonly seatedAt?: number | null; readonly arrivedAt?: number | null };

export type DayContext = {
  readonly now: number;
  readonly today: string;
  /** May complete visits. */
  readonly cuts: boolean;
  /** Clients who hold an appointment after now. */
  readonly bookedAhead: ReadonlySet<string>;
};

/** What may be pressed, the likeliest first. */
function stepsOf(appointment: DayAppointment & Sat, date: string, context: DayContext) {
  const { now, today, cuts, bookedAhead } = context;
  const { state } = appointment;
  const isToday = date === today;
  const isWaiting = state === 'arrived' && !appointment.seatedAt;
  return {
    arrive: isToday && state === 'booked',
    seat: isToday && isWaiting,
    comeAfterAll: isToday && state === 'no-show',
    complete: cuts && date <= today && (state === 'arrived' || state === 'booked'),
    completeFirst: cuts && date <= today && ((state === 'arrived' && !(isToday && isWaiting)) || !isToday),
    noShow: state === 'booked' && now >= appointment.startsAt,
    unArrive: state === 'arrived',
    move: state === 'booked',
    cancel: state === 'booked',
    bookNext: state === 'done' && !bookedAhead.has(appointment.clientId),
  };
}

/** Minutes since a client who has not come was due; 0 when on time or in another state. */
function minutesLate({ state, startsAt, endsAt }: DayAppointment, now: number): number {
  if (state !== 'booked' || now >= endsAt) return 0;
  const minutes = Math.floor((now - startsAt) / MINUTE_MS);
  return minutes >= LATE_MINUTES ? minutes : 0;
}

function wordsOf(appointment: DayAppointment & Sat, late: number): string {
  if (late > 0) return `${late} min late`;
  return appointment.state === 'arrived' && appointment.seatedAt
    ? 'in the chair'
    : STATE_WORDS[appointment.state];
}

export function entryOf<T extends DayAppointment & Sat>(appointment: T, date: string, context: DayContext) {
  const late = minutesLate(appointment, context.now);
  const steps = stepsOf(appointment, date, context);
  return {
    ...appointment,
    late,
    sign:
      late > 0
        ? 'late'
        : appointment.state === 'arrived' && appointment.seatedAt
          ? 'seated'
          : appointment.state,
    words: wordsOf(appointment, late),
    steps,
    more: steps.move || steps.unArrive || steps.seat || (steps.complete && !steps.completeFirst),
  };
}

export type DayEntry = ReturnType<typeof entryOf<LaidOutAppointment>>;

/** One thing drawn in a column, in the order of time. */
type Drawn = Timed & { readonly place: string; readonly indent: number };
type EntryBlock = DayEntry & Drawn & { readonly roomy: boolean };
/** The stylist is at it again after a rest. */
type GoesOnBlock = Drawn & { readonly goesOn: true; readonly id: string; readonly clientName: string };
type RestBlock = Drawn & { readonly rest: true; readonly id: string; readonly clientName: string };
type FreeBlock = Drawn & { readonly free: true; readonly during: string };
export type Block = EntryBlock | GoesOnBlock | RestBlock | FreeBlock;

const holdsTime = ({ state }: DayAppointment) => HOLDS.includes(state);
/** Whether two appointments want the stylist at one time. */
const collide = (a: LaidOutAppointment, b: LaidOutAppointment) =>
  a.id !== b.id && a.active.some((one) => b.active.some((other) => meet(one, other)));

function restsOf({ id, clientName, active }: LaidOutAppointment): (Timed & Rest & { clientName: string })[] {
  return active.slice(1).map((next, i) => {
    const { endsAt, endTime } = active[i]!;
    return {
      id,
      clientName,
      startsAt: endsAt,
      startTime: endTime,
      endsAt: next.startsAt,
      endTime: next.startTime,
    };
  });
}

/** Working time that nobody's active steps take and that has not begun; in processing time too. */
function freeOf(column: DayColumn, taken: readonly Timed[], now: number): Timed[] {
  const free: Timed[] = [];
  const inOrder = [...taken].sort((a, b) => a.startsAt - b.startsAt);
  for (const stretch of column.working) {
    let at = { startsAt: stretch.startsAt, startTime: stretch.startTime };
    const end = { startsAt: stretch.endsAt, startTime: stretch.endTime, endsAt: 0, endTime: '' };
    for (const next of [...inOrder.filter((one) => meet(one, stretch)), end]) {
      const minutes = (next.startsAt - at.startsAt) / MINUTE_MS;
      if (minutes >= LEAST_FREE_MINUTES && next.startsAt > now) {
        free.push({ ...at, endsAt: next.startsAt, endTime: next.startTime });
      }
      if (next.endsAt > at.startsAt) at = { startsAt: next.endsAt, startTime: next.endTime };
    }
  }
  return free;
}

/** A column as it is drawn on its scale, and what no longer holds any time. */
export function columnView(column: DayColumn, date: string, scale: Scale, context: DayContext) {
  const taken = column.appointments.filter(holdsTime);
  const shown = column.appointments.filter(
    (one) => holdsTime(one) || !taken.some((other) => collide(one, other)),
  );
  const rests = shown.filter(holdsTime).flatMap(restsOf);
  const lanes = lanesOf(rests);
  const drawn = (timed: Timed): Drawn => ({
    startsAt: timed.startsAt,
    endsAt: timed.endsAt,
    startTime: timed.startTime,
    endTime: timed.endTime,
    place: placeOf(timed, scale),
    indent: indentOf(timed, lanes),
  });
  const entries = shown.map((one): EntryBlock => {
    const first = one.active[0] ?? one;
    const { place, indent } = drawn(first);
    const minutes = (first.endsAt - first.startsAt) / MINUTE_MS;
    return { ...entryOf(one, date, context), place, indent, roomy: minutes >= ROOMY_MINUTES };
  });
  const parts = shown
    .filter(holdsTime)
    .flatMap(({ id, clientName, active }) =>
      active.slice(1).map((part): GoesOnBlock => ({ ...drawn(part), goesOn: true, id, clientName })),
    );
  const resting = lanes.map(({ rest, lane }): RestBlock => {
    const of = rests.find((one) => one === rest)!;
    return { ...drawn(of), rest: true, id: of.id, clientName: of.clientName, indent: lane };
  });
  const free = freeOf(
    column,
    shown.flatMap(({ active }) => active),
    context.now,
  ).map((stretch): FreeBlock => {
    const during = rests.find((rest) => rest.startsAt <= stretch.startsAt && stretch.endsAt <= rest.endsAt);
    return { ...drawn(stretch), free: true, during: during?.clientName ?? '' };
  });
  const blocks: Block[] = [...entries, ...resting, ...parts, ...free];
  return {
    staffId: column.staffId,
    staffName: column.staffName,
    date,
    from: scale.from,
    hours: column.working.map(({ startTime, endTime }) => `${startTime}–${endTime}`).join(', '),
    away: column.working.length === 0 ? (column.away ?? NOT_WORKING) : null,
    blocks: blocks.sort((a, b) => a.startsAt - b.startsAt || a.endsAt - b.endsAt),
    entries,
    count: taken.length,
    gone: [...column.cancelled, ...column.appointments.filter((one) => !shown.includes(one))].map((one) => ({
      ...entryOf(one, date, context),
      staffName: column.staffName,
    })),
  };
}

export const stretchesOf = ({ columns }: BookDay): Stretch[] =>
  columns.flatMap(({ working, appointments }): Stretch[] => [...working, ...appointments]);

/** The day as columns on one scale, and what no longer holds any time. `mine` comes first. */
export function dayView(day: BookDay, context: DayContext, mine: string | undefined) {
  const scale = scaleOf(stretchesOf(day), day, USUAL_HOURS);
  const columns = [...day.columns]
    .sort((a, b) => Number(b.staffId === mine) - Number(a.staffId === mine))
    .map((column) => ({
      ...columnView(column, day.date, scale, context),
      mine: column.staffId === mine,
    }));
  const inBook = columns.filter(({ away, blocks }) => away === null || blocks.length > 0);
  const isNow = context.now >= scale.from && context.now < scale.from + scale.hours * 60 * MINUTE_MS;
  return {
    columns: inBook,
    absent: columns
      .filter((column) => !inBook.includes(column))
      .map(({ staffName, away }) => ({ staffName, reason: away === NOT_WORKING ? '' : away })),
    gone: columns.flatMap(({ gone }) => gone),
    rows: scale.hours,
    hours: hourLabels(scale, day.zone),
    nowPlace: isNow ? placeOf({ startsAt: context.now, endsAt: context.now }, scale) : null,
  };
}
