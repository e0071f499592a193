import type { AppointmentState, BookDay, DayAppointment, DayColumn } from '../book/index.js';
import { STATE_WORDS } from './words.js';

const MINUTE_MS = 60_000;
/** A client this long after the start is late rather than on the doorstep (ours). */
const LATE_MINUTES = 5;
/** Shorter gaps are not worth offering. */
const LEAST_FREE_MINUTES = 15;
const USUAL_HOURS = { from: 9, until: 18 } as const;
const NOT_WORKING = 'not working';
const HOLDS: readonly AppointmentState[] = ['booked', 'arrived', 'done'];

type Timed = { readonly startTime: string; readonly endTime: string };

const hourOf = (time: string) => Number(time.slice(0, 2));
const minuteOf = (time: string) => Number(time.slice(3));

/** Classes of day-grid.css that place an entry from its first five minutes to its last. */
export function placeOf({ startTime, endTime }: Timed): string {
  const from = minuteOf(startTime) - (minuteOf(startTime) % 5);
  const until = Math.ceil(minuteOf(endTime) / 5) * 5;
  const toHour = endTime <= startTime ? 24 : hourOf(endTime) + (until === 60 ? 1 : 0);
  const toMinute = endTime <= startTime || until === 60 ? 0 : until;
  return `h-${hourOf(startTime)} m-${from} to-h-${toHour} to-m-${toMinute}`;
}

export type DayContext = {
  readonly now: number;
  readonly today: string;
  /** May complete visits. */
  readonly cuts: boolean;
  /** Clients who hold an appointment after now. */
  readonly bookedAhead: ReadonlySet<string>;
};

/** What may be pressed, the likeliest first. */
function stepsOf(appointment: DayAppointment, date: string, { now, today, cuts, bookedAhead }: DayContext) {
  const { state } = appointment;
  const isToday = date === today;
  return {
    arrive: isToday && state === 'booked',
    comeAfterAll: isToday && state === 'no-show',
    complete: cuts && date <= today && (state === 'arrived' || state === 'booked'),
    completeFirst: cuts && date <= today && (state === 'arrived' || !isToday),
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

export function entryOf(appointment: DayAppointment, date: string, context: DayContext) {
  const late = minutesLate(appointment, context.now);
  return {
    ...appointment,
    place: placeOf(appointment),
    sign: late > 0 ? 'late' : appointment.state,
    words: late > 0 ? `${late} min late` : STATE_WORDS[appointment.state],
    steps: stepsOf(appointment, date, context),
  };
}

export type DayEntry = ReturnType<typeof entryOf>;
export type FreeEntry = Timed & { readonly free: true; readonly place: string; readonly startsAt: number };

function freeOf(column: DayColumn, taken: readonly DayAppointment[], now: number): FreeEntry[] {
  const free: FreeEntry[] = [];
  for (const stretch of column.working) {
    let at = { startsAt: stretch.startsAt, startTime: stretch.startTime };
    const within = taken.filter(
      ({ startsAt, endsAt }) => startsAt < stretch.endsAt && endsAt > stretch.startsAt,
    );
    for (const next of [
      ...within,
      { startsAt: stretch.endsAt, endsAt: 0, startTime: stretch.endTime, endTime: '' },
    ]) {
      const minutes = (next.startsAt - at.startsAt) / MINUTE_MS;
      if (minutes >= LEAST_FREE_MINUTES && next.startsAt > now) {
        const times = { startTime: at.startTime, endTime: next.startTime };
        free.push({ free: true, startsAt: at.startsAt, ...times, place: placeOf(times) });
      }
      if (next.endsAt > at.startsAt) at = { startsAt: next.endsAt, startTime: next.endTime };
    }
  }
  return free;
}

/** The day as columns on one scale of hours, and what no longer holds any time. `mine` comes first. */
export function dayView(day: BookDay, context: DayContext, mine: string | undefined) {
  const gone: (DayEntry & { readonly staffName: string })[] = [];
  const columns = [...day.columns]
    .sort((a, b) => Number(b.staffId === mine) - Number(a.staffId === mine))
    .map((column) => {
      const taken = column.appointments.filter(({ state }) => HOLDS.includes(state));
      const overlaps = ({ id, startsAt, endsAt }: DayAppointment) =>
        taken.some((other) => other.id !== id && other.startsAt < endsAt && other.endsAt > startsAt);
      const shown = column.appointments.filter((entry) => HOLDS.includes(entry.state) || !overlaps(entry));
      const hidden = column.appointments.filter((entry) => !shown.includes(entry));
      gone.push(
        ...[...column.cancelled, ...hidden].map((entry) => ({
          ...entryOf(entry, day.date, context),
          staffName: column.staffName,
        })),
      );
      const free = freeOf(column, shown, context.now);
      const entries = [...shown.map((entry) => entryOf(entry, day.date, context)), ...free];
      return {
        staffId: column.staffId,
        staffName: column.staffName,
        mine: column.staffId === mine,
        hours: column.working.map(({ startTime, endTime }) => `${startTime}–${endTime}`).join(', '),
        away: column.working.length === 0 ? (column.away ?? NOT_WORKING) : null,
        entries: entries.sort((a, b) => a.startsAt - b.startsAt),
        count: taken.length,
      };
    });
  const inBook = columns.filter(({ away, entries }) => away === null || entries.length > 0);
  const times: Timed[] = day.columns.flatMap(({ working, appointments }) => [...working, ...appointments]);
  const from =
    times.length === 0 ? USUAL_HOURS.from : Math.min(...times.map(({ startTime }) => hourOf(startTime)));
  const ends = times.map((time) =>
    time.endTime <= time.startTime ? 24 : hourOf(time.endTime) + (minuteOf(time.endTime) > 0 ? 1 : 0),
  );
  const until = times.length === 0 ? USUAL_HOURS.until : Math.max(from + 1, ...ends);
  return {
    columns: inBook,
    absent: columns
      .filter((column) => !inBook.includes(column))
      .map(({ staffName, away }) => ({ staffName, reason: away === NOT_WORKING ? '' : away })),
    gone,
    from,
    until,
    hours: Array.from({ length: until - from }, (_, i) => ({ hour: from + i, label: `${from + i}:00` })),
  };
}
