import { Controller, Get, Query } from '@nestjs/common';
import { addDays, clockChangeOn, isDate, weekdayOf } from '../base/index.js';
import { Book, type BookDay, LiveBook } from '../book/index.js';
import { Call, Called, Needs, renderPage } from '../http/index.js';
import { may, type Principal } from '../identity/index.js';
import { BookedAhead } from './booked-ahead.js';
import { type DayContext, dayView } from './day-view.js';
import { clockChangeWords, dayText } from './days.js';
import { Front, type Setting } from './front.js';
import { nowView } from './now-view.js';
import { weekView } from './week-view.js';
import { counted } from './words.js';

const DAYS_OF_WEEK = 7;

@Controller()
export class TodayPages {
  constructor(
    private readonly front: Front,
    private readonly book: Book,
    private readonly live: LiveBook,
    private readonly ahead: BookedAhead,
  ) {}

  @Needs('book.read')
  @Get('today')
  async day(@Called() call: Call, @Query('date') asked?: string): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const { salon, now, today, me, spoken } = setting;
    const date = isDate(asked) ? asked : today;
    // Before the book is read: a change in between is then heard of, not missed.
    const version = this.live.version();
    const day = await this.book.day(salon.id, date);
    const view = dayView(day, await this.context(call.principal, setting, [day]), me?.id);
    const count = view.columns.reduce((sum, column) => sum + column.count, 0);
    const isToday = date === today;
    const lines = view.columns.flatMap(({ entries, staffName }) =>
      entries.map((entry) => ({ ...entry, staffName })),
    );
    const change = clockChangeOn(salon.zone, date);
    await renderPage(call, 'today', {
      heading: isToday ? 'Today' : dayText(date, spoken),
      ...view,
      date,
      dateWords: dayText(date, spoken),
      isToday,
      at: isToday && nowView([...lines, ...view.gone], now),
      before: { date: addDays(date, -1), words: dayText(addDays(date, -1), spoken) },
      after: { date: addDays(date, 1), words: dayText(addDays(date, 1), spoken) },
      closed: day.closed,
      clock: change && clockChangeWords(change),
      count: counted(count, 'appointment'),
      nobody: view.columns.length === 0,
      live: { salonId: salon.id, version, startsAt: day.startsAt, endsAt: day.endsAt, zone: salon.zone },
      dayGrid: true,
      scripts: ['day-book'],
    });
  }

  /** Seven days of one stylist; the one who is signed in, or the first. */
  @Needs('book.read')
  @Get('week')
  async week(
    @Called() call: Call,
    @Query('staffId') staffId?: string,
    @Query('date') asked?: string,
  ): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const { salon, today, me, spoken } = setting;
    const stylists = await this.front.stylists(salon.id);
    const stylist =
      [staffId, me?.id].map((id) => stylists.find((one) => one.id === id)).find((one) => one !== undefined) ??
      stylists[0];
    const inWeek = isDate(asked) ? asked : today;
    const from = addDays(inWeek, 1 - weekdayOf(inWeek));
    const version = this.live.version();
    const days = stylist ? await this.book.week(salon.id, stylist.id, from) : [];
    const view = weekView(days, await this.context(call.principal, setting, days));
    const changes = days.flatMap(({ date }) => {
      const change = clockChangeOn(salon.zone, date);
      return change ? [`${dayText(date, spoken)}: ${clockChangeWords(change)}`] : [];
    });
    const count = view.columns.reduce((sum, column) => sum + column.count, 0);
    await renderPage(call, 'week', {
      heading: stylist ? `Week of ${stylist.name}` : 'Week',
      ...view,
      columns: view.columns.map((column) => ({ ...column, words: dayText(column.date, spoken) })),
      gone: view.gone.map((entry) => ({ ...entry, day: dayText(entry.date, spoken) })),
      stylist,
      stylists,
      date: from,
      before: { date: addDays(from, -DAYS_OF_WEEK), words: dayText(addDays(from, -DAYS_OF_WEEK), spoken) },
      after: { date: addDays(from, DAYS_OF_WEEK), words: dayText(addDays(from, DAYS_OF_WEEK), spoken) },
      count: counted(count, 'appointment'),
      changes,
      live: {
        salonId: salon.id,
        version,
        startsAt: days[0]?.startsAt ?? 0,
        endsAt: days.at(-1)?.endsAt ?? 0,
        zone: salon.zone,
      },
      dayGrid: true,
      scripts: ['day-book'],
    });
  }

  private async context(
    { role }: Principal,
    { now, today }: Setting,
    days: readonly BookDay[],
  ): Promise<DayContext> {
    const done = days
      .flatMap(({ columns }) => columns.flatMap(({ appointments }) => appointments))
      .filter(({ state }) => state === 'done');
    const bookedAhead = await this.ahead.among(
      done.map(({ clientId }) => clientId),
      now,
    );
    return { now, today, cuts: may(role, 'cut.write'), bookedAhead };
  }
}
