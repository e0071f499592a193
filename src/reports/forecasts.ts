import { Injectable } from '@nestjs/common';
import { MoreThanOrEqual } from 'typeorm';
import { addDays, Clock, dateIn, dayBounds, daysBetween, weekdayOf } from '../base/index.js';
import { Visit } from '../cuts/index.js';
import type { Salon } from '../salon/index.js';
import { newId, Reader, UnitOfWork } from '../store/index.js';
import { ask } from './ask.js';
import { expectedDemand } from './demand.js';
import { capacityMinutes, type DemandView, demandClients, demandHabits } from './demand-inputs.js';
import { DemandForecast } from './entities.js';

export const FORECAST_WEEKS = 12;
/** Weeks of the past for which a salon that begins to use forecasts is told how they would have done. */
const TRIED_WEEKS = 16;
/** Above so many visits trying the past takes longer than anybody waits for a page. */
const MOST_TRIED_VISITS = 20_000;

/** The Monday on or before a date, and the one on or after it. */
const mondayBefore = (date: string): string => addDays(date, 1 - weekdayOf(date));
const mondayFrom = (date: string): string => addDays(date, (8 - weekdayOf(date)) % 7);

/** A week's forecast beside what came. */
export type ScoredWeek = {
  readonly weekStartsOn: string;
  /** Made last before the week began. */
  readonly forecast: DemandForecast;
  /** Made four weeks or more before it. */
  readonly early: DemandForecast | undefined;
  readonly visits: number;
  /** Visits a week over the eight weeks before the forecast was made: what one would say without any of this. */
  readonly plainGuess: number;
};

/** Demand of the coming weeks: made once a week, kept, and scored. */
@Injectable()
export class Forecasts {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
  ) {}

  /** The latest forecast, in order of weeks; empty while none has been made. */
  async latest(salonId: string): Promise<DemandForecast[]> {
    const last = await this.last(salonId);
    if (!last) return [];
    return await this.reader.manager.find(DemandForecast, {
      where: { salonId, madeOn: last.madeOn },
      order: { weekStartsOn: 'ASC' },
    });
  }

  /**
   * Makes this week's forecast unless there is one, or nobody has come yet; true when it did. The first time the past is tried too. Takes
   * seconds over a large book: for a job, or for somebody who asked for it.
   */
  async keepUp(salon: Salon): Promise<boolean> {
    const today = dateIn(salon.zone, this.clock.now());
    const last = await this.last(salon.id);
    if (last && last.madeOn >= mondayBefore(today)) return false;
    // A book that is still to be filled, or imported, gets its first forecast once it is.
    if (!(await this.reader.manager.existsBy(Visit, { salonId: salon.id }))) return false;
    if (!last) await this.tryThePast(salon, today);
    await this.keep(await this.make({ salon, on: today, knownAt: this.clock.now(), live: true }));
    return true;
  }

  /** Weeks that are over and were forecast, newest first. */
  async scored(salon: Salon, weeks = FORECAST_WEEKS): Promise<ScoredWeek[]> {
    const thisMonday = mondayBefore(dateIn(salon.zone, this.clock.now()));
    const from = addDays(thisMonday, -7 * weeks);
    const forecasts = await this.reader.manager.find(DemandForecast, {
      where: { salonId: salon.id, weekStartsOn: MoreThanOrEqual(from) },
      order: { madeOn: 'DESC' },
    });
    const visits = await this.visitsByDay(salon.id, addDays(from, -7 * 20));
    const between = (first: string, last: string) => {
      let sum = 0;
      for (const [date, count] of visits) if (date >= first && date <= last) sum += count;
      return sum;
    };
    return Array.from({ length: weeks }, (_, i) => addDays(thisMonday, -7 * (i + 1))).flatMap(
      (weekStartsOn) => {
        const own = forecasts.filter(
          (row) => row.weekStartsOn === weekStartsOn && row.madeOn <= weekStartsOn,
        );
        const [forecast] = own;
        if (!forecast) return [];
        const early = own.find(({ madeOn }) => daysBetween(madeOn, weekStartsOn) >= 28);
        const before = between(addDays(forecast.madeOn, -56), addDays(forecast.madeOn, -1));
        const came = between(weekStartsOn, addDays(weekStartsOn, 6));
        return [{ weekStartsOn, forecast, early, visits: came, plainGuess: before / 8 }];
      },
    );
  }

  private async last(salonId: string): Promise<DemandForecast | undefined> {
    const [last] = await this.reader.manager.find(DemandForecast, {
      where: { salonId, afterwards: false },
      order: { madeOn: 'DESC' },
      take: 1,
    });
    return last;
  }

  /** What would have been forecast on each of the past Mondays, from what was known then. */
  private async tryThePast(salon: Salon, today: string): Promise<void> {
    const { manager } = this.reader;
    const visits = await manager.countBy(Visit, { salonId: salon.id });
    if (visits === 0 || visits > MOST_TRIED_VISITS) return;
    const [first] = await manager.find(Visit, {
      where: { salonId: salon.id },
      order: { visitOn: 'ASC' },
      take: 1,
    });
    for (let back = TRIED_WEEKS; back >= 1; back -= 1) {
      const on = addDays(mondayBefore(today), -7 * back);
      // Before there is a record there is nothing to forecast from.
      if (!first || first.visitOn > addDays(on, -28)) continue;
      const knownAt = dayBounds(salon.zone, on).startsAt;
      await this.keep(await this.make({ salon, on, knownAt, live: false }));
    }
  }

  /** Reads on the readers' connection: a forecast must not hold up those who write. */
  private async make(view: DemandView): Promise<DemandForecast[]> {
    const { manager } = this.reader;
    const { salon, on, live } = view;
    const monday = mondayFrom(on);
    const firstDay = daysBetween(on, monday);
    const mondays = Array.from({ length: FORECAST_WEEKS }, (_, week) => addDays(monday, 7 * week));
    const clients = await demandClients(manager, view, firstDay + 7 * FORECAST_WEEKS);
    const habits = await demandHabits(manager, view);
    const capacity = await capacityMinutes(manager, salon, mondays);
    const madeAt = this.clock.now();
    return expectedDemand(clients, habits, firstDay, FORECAST_WEEKS).map((week, i) =>
      manager.create(DemandForecast, {
        id: newId(),
        salonId: salon.id,
        madeOn: on,
        weekStartsOn: mondays[i] as string,
        ...week,
        capacityMinutes: capacity[i] as number,
        afterwards: !live,
        madeAt,
      }),
    );
  }

  /** Whoever comes second finds it made already. */
  private async keep(forecast: readonly DemandForecast[]): Promise<void> {
    await this.units.run((manager) =>
      manager
        .createQueryBuilder()
        .insert()
        .into(DemandForecast)
        .values([...forecast])
        .orIgnore()
        .execute(),
    );
  }

  private async visitsByDay(salonId: string, from: string): Promise<Map<string, number>> {
    const rows = await ask<{ date: string; count: number }>(
      this.reader.manager,
      `SELECT v."visitOn" AS "date", COUNT(*) AS "count" FROM visit v
       WHERE v."salonId" = :salonId AND v."visitOn" >= :from GROUP BY v."visitOn"`,
      { salonId, from },
      ['count'],
    );
    return new Map(rows.map(({ date, count }) => [date, count]));
  }
}
