import { describe, expect, it } from '@jest/globals';
import { dayBounds, instantAt, timeIn } from '../base/index.js';
import type { BookDay, LaidOutAppointment } from '../book/index.js';
import { dayView, entryOf } from './day-view.js';

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
  over: Partial<LaidOutAppointment> = {},
): LaidOutAppointment => ({
  id,
  version: 1,
  state: 'booked',
  clientId: `c-${id}`,
  clientName: id,
  serviceId: 's',
  serviceName: 'Full cut',
  serviceKind: 'full-cut',
  notes: '',
  active: [stretch(from, to)],
  resources: [],
  confirmed: false,
  seriesId: null,
  arrivedAt: null,
  seatedAt: null,
  ...stretch(from, to),
  ...over,
});

const day = (appointments: LaidOutAppointment[], cancelled: LaidOutAppointment[] = []): BookDay => {
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
  view.columns[0]?.blocks.map(
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
    expect(view.hours.map(({ label }) => label)).toEqual(['9:00', '10:00', '11:00', '12:00', '13:00']);
    expect(view.columns.map(({ staffName }) => staffName)).toEqual(['Ada']);
    expect(view.absent).toEqual([{ staffName: 'Bo', reason: 'training' }]);
  });

  it('leaves the time of a colour’s processing free for others, beside its strip', () => {
    const colour = appointment('colour', '09:00', '11:00', {
      active: [stretch('09:00', '09:30'), stretch('10:30', '11:00')],
    });
    const drawn = dayView(
      day([colour, appointment('within', '09:45', '10:15')]),
      context,
      undefined,
    ).columns[0]?.blocks.map((block) => {
      const kind = ['free', 'rest', 'goesOn'].find((one) => one in block) ?? 'entry';
      return `${kind} ${block.startTime}-${block.endTime} in ${block.indent}, ${block.place}`;
    });
    expect(drawn).toEqual([
      'entry 09:00-11:00 in 0, h-0 m-0 to-h-0 to-m-30',
      'free 09:30-09:45 in 1, h-0 m-30 to-h-0 to-m-45',
      'rest 09:30-10:30 in 0, h-0 m-30 to-h-1 to-m-30',
      'entry 09:45-10:15 in 1, h-0 m-45 to-h-1 to-m-15',
      'free 10:15-10:30 in 1, h-1 m-15 to-h-1 to-m-30',
      'goesOn 10:30-11:00 in 0, h-1 m-30 to-h-2 to-m-0',
      'free 11:00-12:00 in 0, h-2 m-0 to-h-3 to-m-0',
    ]);
  });
});

// Europe/London changes its clocks at 01:00 UTC on the last Sundays of March and October (IANA tz, rule EU).
describe('a day on which the clock changes', () => {
  const london = (date: string, from: string, to: string): ReturnType<typeof dayView> => {
    const zone = 'Europe/London';
    const instant = (time: string) => instantAt(zone, date, time);
    const working = {
      startsAt: instant(from),
      endsAt: instant(to),
      startTime: timeIn(zone, instant(from)),
      endTime: timeIn(zone, instant(to)),
    };
    const column = { ...day([]).columns[0]!, working: [working] };
    const drawn = { ...day([]), zone, date, ...dayBounds(zone, date), columns: [column] };
    return dayView(drawn, { ...context, now: 0 }, undefined);
  };

  it('of 25 hours shows the hour that comes twice, and a length as long as it is', () => {
    const view = london('2026-10-25', '00:00', '04:00');
    expect(view.hours.map(({ label }) => label)).toEqual(['0:00', '1:00', '1:00 again', '2:00', '3:00']);
    expect(view.columns[0]?.blocks[0]?.place).toBe('h-0 m-0 to-h-5 to-m-0');
  });

  it('of 23 hours leaves out the hour that does not exist', () => {
    const view = london('2026-03-29', '00:00', '04:00');
    expect(view.hours.map(({ label }) => label)).toEqual(['0:00', '2:00', '3:00']);
    expect(view.columns[0]?.blocks[0]?.place).toBe('h-0 m-0 to-h-3 to-m-0');
  });

  it('keeps nine o’clock at nine', () => {
    const [first] = london('2026-10-25', '09:00', '17:00').hours;
    expect(first).toEqual({ place: 'h-0', label: '9:00' });
  });
});

describe('what may be pressed', () => {
  const steps = (over: Partial<LaidOutAppointment>, date = DATE, more: Partial<typeof context> = {}) => {
    const all = entryOf(appointment('x', '09:00', '10:00', over), date, { ...context, ...more }).steps;
    return Object.entries(all).flatMap(([name, on]) => (on ? [name] : []));
  };

  it('a booked client of today arrives, moves, cancels; no-show only once the start has passed', () => {
    expect(steps({})).toEqual(['arrive', 'complete', 'move', 'cancel']);
    expect(steps({}, DATE, { now: at('09:00') })).toContain('noShow');
  });

  it('nothing is completed ahead of its day, nor by who does not cut', () => {
    expect(steps({}, '2026-05-15')).toEqual(['move', 'cancel']);
    expect(steps({ state: 'arrived', seatedAt: 1 }, DATE, { cuts: false })).toEqual(['unArrive']);
  });

  it('who has arrived is shown to the chair first, and then completed', () => {
    expect(steps({ state: 'arrived' })).toEqual(['seat', 'complete', 'unArrive']);
    expect(steps({ state: 'arrived', seatedAt: 1 })).toEqual(['complete', 'completeFirst', 'unArrive']);
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
