import { describe, expect, it } from '@jest/globals';
import type { BookDay, DayAppointment } from '../book/index.js';
import { dayView, entryOf, placeOf } from './day-view.js';

const DATE = '2026-05-14';
const at = (time: string) => Date.parse(`${DATE}T${time}:00Z`);
const stretch = (startTime: string, endTime: string) => ({
  startTime,
  endTime,
  startsAt: at(startTime),
  endsAt: at(endTime),
});

const appointment = (
  id: string,
  from: string,
  to: string,
  over: Partial<DayAppointment> = {},
): DayAppointment => ({
  id,
  version: 1,
  state: 'booked',
  clientId: `c-${id}`,
  clientName: id,
  serviceId: 's',
  serviceName: 'Full cut',
  serviceKind: 'full-cut',
  notes: '',
  ...stretch(from, to),
  ...over,
});

const day = (appointments: DayAppointment[], cancelled: DayAppointment[] = []): BookDay => {
  const columns: object[] = [
    {
      staffId: 'a',
      staffName: 'Ada',
      working: [stretch('09:00', '12:00')],
      away: null,
      appointments,
      cancelled,
    },
    { staffId: 'b', staffName: 'Bo', working: [], away: 'training', appointments: [], cancelled: [] },
  ];
  const bounds = { startsAt: at('00:00'), endsAt: at('00:00') + 86_400_000 };
  return {
    salonId: 'salon',
    zone: 'UTC',
    date: DATE,
    closed: null,
    ...bounds,
    columns: columns as unknown as BookDay['columns'],
  };
};

const context = { now: at('08:00'), today: DATE, cuts: true, bookedAhead: new Set<string>() };
const times = (view: ReturnType<typeof dayView>) =>
  view.columns[0]?.entries.map(
    (entry) => `${'free' in entry ? 'free ' : ''}${entry.startTime}-${entry.endTime}`,
  );

describe('the day book', () => {
  it('fills working time with appointments and what is free between them', () => {
    expect(
      times(
        dayView(
          day([appointment('x', '09:30', '10:15'), appointment('y', '10:20', '11:00')]),
          context,
          undefined,
        ),
      ),
    ).toEqual(['free 09:00-09:30', '09:30-10:15', '10:20-11:00', 'free 11:00-12:00']);
  });

  it('offers no time that has passed', () => {
    expect(
      times(dayView(day([appointment('x', '10:00', '11:00')]), { ...context, now: at('10:30') }, undefined)),
    ).toEqual(['10:00-11:00', 'free 11:00-12:00']);
  });

  it('lists a no-show whose time was given away, and cancellations, beside the day', () => {
    const view = dayView(
      day(
        [appointment('gone', '09:00', '10:00', { state: 'no-show' }), appointment('new', '09:00', '10:00')],
        [appointment('off', '11:00', '12:00', { state: 'cancelled' })],
      ),
      context,
      undefined,
    );
    expect(times(view)).toEqual(['09:00-10:00', 'free 10:00-12:00']);
    expect(view.gone.map(({ id }) => id)).toEqual(['off', 'gone']);
  });

  it('shows whole hours from the first to the last, and who is away with the reason', () => {
    const view = dayView(day([appointment('late', '12:30', '13:10')]), context, undefined);
    expect([view.from, view.until]).toEqual([9, 14]);
    expect(view.columns.map(({ staffName }) => staffName)).toEqual(['Ada']);
    expect(view.absent).toEqual([{ staffName: 'Bo', reason: 'training' }]);
  });

  it('puts an entry on rows of five minutes', () => {
    expect(placeOf({ startTime: '09:17', endTime: '10:02' })).toBe('h-9 m-15 to-h-10 to-m-5');
    expect(placeOf({ startTime: '09:00', endTime: '09:58' })).toBe('h-9 m-0 to-h-10 to-m-0');
    expect(placeOf({ startTime: '23:30', endTime: '00:00' })).toBe('h-23 m-30 to-h-24 to-m-0');
  });
});

describe('what may be pressed', () => {
  const steps = (over: Partial<DayAppointment>, date = DATE, more: Partial<typeof context> = {}) => {
    const all = entryOf(appointment('x', '09:00', '10:00', over), date, { ...context, ...more }).steps;
    return Object.entries(all).flatMap(([name, on]) => (on ? [name] : []));
  };

  it('a booked client of today arrives, moves, cancels; no-show only once the start has passed', () => {
    expect(steps({})).toEqual(['arrive', 'complete', 'move', 'cancel']);
    expect(steps({}, DATE, { now: at('09:00') })).toContain('noShow');
  });

  it('nothing is completed ahead of its day, nor by who does not cut', () => {
    expect(steps({}, '2026-05-15')).toEqual(['move', 'cancel']);
    expect(steps({ state: 'arrived' }, DATE, { cuts: false })).toEqual(['unArrive']);
  });

  it('a complete visit asks for the next only while none is booked', () => {
    expect(steps({ state: 'done' })).toEqual(['bookNext']);
    expect(steps({ state: 'done' }, DATE, { bookedAhead: new Set(['c-x']) })).toEqual([]);
  });

  it('a client is called late from five minutes on, in words', () => {
    const words = (now: string) =>
      entryOf(appointment('x', '09:00', '10:00'), DATE, { ...context, now: at(now) }).words;
    expect([words('09:04'), words('09:05'), words('10:00')]).toEqual(['booked', '5 min late', 'booked']);
  });
});
