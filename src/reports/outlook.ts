import type { DemandForecast } from './entities.js';
import { type Figure, interval } from './figure.js';
import type { ScoredWeek } from './forecasts.js';

/** Shares of the rota from which a week is called full, nearly full, or one with room (ours). */
const OVER = 1;
const NEARLY = 0.85;
const ROOM = 0.6;

export function loadWords(minutes: number, capacityMinutes: number): string {
  if (capacityMinutes === 0) return minutes > 0 ? 'nobody on the rota' : 'shut';
  const load = minutes / capacityMinutes;
  if (load > OVER) return 'more than the rota holds';
  if (load >= NEARLY) return 'nearly full';
  return load < ROOM ? 'room' : 'well filled';
}

/** The coming weeks against the rota. */
export function outlookFigure(forecast: readonly DemandForecast[]): Figure {
  return {
    key: 'outlook',
    title: 'The coming twelve weeks',
    definition:
      'What each client’s window makes likely, against the rota. A week is nearly full from 85 % of the rota, over from 100 %, and has room below 60 %.',
    how:
      'A client with appointments comes to them, but for the share that is missed here. One without comes when her shape gives way: spread over the days as her window is, later by as much as clients here usually are, only with the share that comes again at all, and only as far as clients here book at such short notice. ' +
      'Each visit is followed by the next one in the same way, and new clients come as often as in the last twelve weeks.',
    caution:
      (forecast.length === 0
        ? 'No forecast has been made yet: one is made at the beginning of every week, the first within an hour. '
        : '') +
      'Ranges are 90 % and hold the chance of who comes when, not a change of habits. Clients without a window and without an appointment are not in it.',
    columns: [
      { key: 'week', label: 'Week from', kind: 'date' },
      { key: 'words', label: 'So', kind: 'text' },
      { key: 'load', label: 'Of the rota', kind: 'share' },
      { key: 'visits', label: 'Visits', kind: 'decimal' },
      ...interval('decimal', 'low', 'high', 90),
      { key: 'minutes', label: 'Time expected', kind: 'minutes' },
      { key: 'booked', label: 'Booked so far', kind: 'minutes' },
      { key: 'capacity', label: 'On the rota', kind: 'minutes' },
    ],
    rows: forecast.map((week) => ({
      cells: {
        week: week.weekStartsOn,
        visits: week.visits,
        low: week.visitsLow,
        high: week.visitsHigh,
        minutes: week.minutes,
        booked: week.bookedMinutes,
        capacity: week.capacityMinutes,
        load: week.capacityMinutes === 0 ? null : week.minutes / week.capacityMinutes,
        words: loadWords(week.minutes, week.capacityMinutes),
      },
    })),
    ...(forecast.length > 0 && {
      chart: {
        kind: 'weeks' as const,
        y: 'Hours',
        expected: 'expected, with its 90 % range',
        against: 'on the rota',
        weeks: forecast.map((week) => ({
          startsOn: week.weekStartsOn,
          expected: week.minutes / 60,
          low: week.minutesLow / 60,
          high: week.minutesHigh / 60,
          against: week.capacityMinutes / 60,
        })),
      },
    }),
  };
}

const mean = (numbers: readonly number[]) =>
  numbers.reduce((sum, number) => sum + number, 0) / numbers.length;

/** How earlier forecasts did. */
export function scoreFigure(scored: readonly ScoredWeek[]): Figure {
  const inRange = scored.filter(
    ({ forecast, visits }) => visits >= forecast.visitsLow - 0.5 && visits <= forecast.visitsHigh + 0.5,
  );
  const summary =
    scored.length === 0
      ? ' No forecast week is over yet.'
      : ` Over these ${scored.length} weeks the forecast was off by ${mean(scored.map(({ forecast, visits }) => Math.abs(forecast.visits - visits))).toFixed(1)} visits a week on average; ` +
        `saying the mean of the eight weeks before would have been off by ${mean(scored.map(({ plainGuess, visits }) => Math.abs(plainGuess - visits))).toFixed(1)}. ` +
        `${inRange.length} of ${scored.length} weeks fell into the 90 % range.`;
  const afterwards = scored.some(({ forecast }) => forecast.afterwards);
  return {
    key: 'outlook-score',
    title: 'How the forecasts did',
    definition: `Visits forecast for each week that is over, last before it began and at least four weeks before it, beside what came.${summary}`,
    ...(afterwards && {
      caution:
        'Those made afterwards were computed when forecasts began to be kept, from what was known on each Monday (bookings moved since then stand where they are now).',
    }),
    columns: [
      { key: 'week', label: 'Week from', kind: 'date' },
      { key: 'visits', label: 'Came', kind: 'count' },
      { key: 'forecast', label: 'Forecast', kind: 'decimal' },
      ...interval('decimal', 'low', 'high', 90),
      { key: 'inRange', label: 'In the range', kind: 'text' },
      { key: 'early', label: 'Four weeks before', kind: 'decimal' },
      { key: 'plain', label: 'Mean of eight weeks', kind: 'decimal' },
      { key: 'made', label: 'Made on', kind: 'date', detail: true },
      { key: 'how', label: 'Made', kind: 'text' },
    ],
    rows: scored.map((week) => ({
      cells: {
        week: week.weekStartsOn,
        visits: week.visits,
        forecast: week.forecast.visits,
        low: week.forecast.visitsLow,
        high: week.forecast.visitsHigh,
        inRange: inRange.includes(week) ? 'yes' : 'no',
        early: week.early?.visits ?? null,
        plain: week.plainGuess,
        made: week.forecast.madeOn,
        how: week.forecast.afterwards ? 'afterwards' : 'at the time',
      },
    })),
    ...(scored.length > 0 && {
      chart: {
        kind: 'weeks' as const,
        y: 'Visits',
        expected: 'forecast, with its 90 % range',
        against: 'came',
        weeks: [...scored].reverse().map(({ weekStartsOn, forecast, visits }) => ({
          startsOn: weekStartsOn,
          expected: forecast.visits,
          low: forecast.visitsLow,
          high: forecast.visitsHigh,
          against: visits,
        })),
      },
    }),
  };
}
