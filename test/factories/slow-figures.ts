import { addDays, dateIn } from '../../src/base/index.js';
import { Appointment, Claim } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { CutFormula, HoldLimitRow, Measurement, Visit, ZoneLength } from '../../src/cuts/index.js';
import { Message } from '../../src/reminders/index.js';
import type { CutBy, FigureScope } from '../../src/reports/scope.js';
import type { TestSalon, TestStore } from './salon.js';

/** The whole past in memory, and every figure worked out from it the slow and obvious way, one visit at a time. */
export class SlowFigures {
  constructor(
    readonly visits: readonly Visit[],
    readonly appointments: readonly Appointment[],
    readonly claims: readonly Claim[],
    readonly formulas: readonly CutFormula[],
    readonly lengths: readonly ZoneLength[],
    readonly limits: readonly HoldLimitRow[],
    readonly measurements: readonly Measurement[],
    readonly messages: readonly Message[],
    readonly minutesOf: ReadonlyMap<string, number>,
    readonly clients: readonly Client[],
    readonly zone: string,
    readonly today: string,
  ) {}

  erasedOn(clientId: string): string | undefined {
    const erasedAt = this.clients.find(({ id }) => id === clientId)?.erasedAt;
    return erasedAt ? dateIn('UTC', erasedAt) : undefined;
  }

  /** Visits whose window and grace are over, of clients who could be seen to come back by then. */
  over(scope: FigureScope, grace: number): Visit[] {
    return this.inScope(scope).filter(({ clientId, suggestedLatestOn: latest }) => {
      if (latest === null) return false;
      const end = addDays(latest, grace);
      return end < this.today && (this.erasedOn(clientId) ?? '9999') > end;
    });
  }

  static async of({ reader: { manager } }: TestStore, place: TestSalon, today: string): Promise<SlowFigures> {
    return new SlowFigures(
      await manager.find(Visit),
      await manager.find(Appointment),
      await manager.find(Claim),
      await manager.find(CutFormula),
      await manager.find(ZoneLength),
      await manager.find(HoldLimitRow),
      await manager.find(Measurement, { order: { id: 'ASC' } }),
      await manager.find(Message),
      new Map([place.fullCut, place.tidy, place.colour].map(({ id, minutes }) => [id, minutes])),
      await manager.find(Client),
      place.salon.zone,
      today,
    );
  }

  inScope({ fromDate, today, staffId }: FigureScope): Visit[] {
    return this.visits.filter(
      (visit) =>
        visit.visitOn >= fromDate &&
        visit.visitOn <= today &&
        (staffId === null || visit.staffId === staffId),
    );
  }

  next({ clientId, visitOn }: Visit): string | undefined {
    return this.visits
      .filter((other) => other.clientId === clientId && other.visitOn > visitOn)
      .map((other) => other.visitOn)
      .sort()[0];
  }

  shape(formulaId: string | null): string {
    return this.formulas.find(({ id }) => id === formulaId)?.name ?? '';
  }

  key(by: CutBy | null, visit: Visit): string {
    switch (by) {
      case null:
        return '';
      case 'stylist':
        return visit.staffId;
      case 'service':
        return visit.serviceId;
      case 'salon':
        return visit.salonId;
      case 'month':
        return visit.visitOn.slice(0, 7);
      case 'shape':
        return this.shape(visit.formulaId);
      case 'first-time':
        return this.visits.some((other) => other.clientId === visit.clientId && other.visitOn < visit.visitOn)
          ? 'returning'
          : 'first';
    }
  }

  appointmentKey(by: CutBy | null, appointment: Appointment): string {
    const before = this.visits
      .filter((visit) => visit.clientId === appointment.clientId && visit.closedAt < appointment.startsAt)
      .sort((a, b) => b.visitOn.localeCompare(a.visitOn) || b.closedAt - a.closedAt);
    switch (by) {
      case null:
        return '';
      case 'stylist':
        return appointment.staffId;
      case 'service':
        return appointment.serviceId;
      case 'salon':
        return appointment.salonId;
      case 'month':
        return dateIn(this.zone, appointment.startsAt).slice(0, 7);
      case 'shape':
        return this.shape(before.find(({ formulaId }) => formulaId !== null)?.formulaId ?? null);
      case 'first-time':
        return before.length > 0 ? 'returning' : 'first';
    }
  }

  isRebooked(visit: Visit): boolean {
    return this.appointments.some(
      (appointment) =>
        appointment.clientId === visit.clientId &&
        appointment.startsAt > visit.closedAt &&
        appointment.bookedAt < visit.dayEndsAt &&
        (appointment.cancelledAt === null || appointment.cancelledAt >= visit.dayEndsAt),
    );
  }

  /** What is kept beside a visit, by the others. */
  kept(visit: Visit) {
    const own = this.visits.filter(({ clientId }) => clientId === visit.clientId);
    const [firstOn] = own.map(({ visitOn }) => visitOn).sort();
    const shape = visit.formulaId === null ? null : this.shape(visit.formulaId);
    return { nextOn: this.next(visit) ?? null, firstOn, shape };
  }

  /** Undefined where nothing measured on the next arrival can judge a limit of this visit's shape. */
  measuredGone(visit: Visit): boolean | undefined {
    const next = this.next(visit);
    // Measured twice on one day: what was measured first had not been cut yet.
    const on = (zone: string | null) =>
      this.measurements.find((m) => m.clientId === visit.clientId && m.measuredOn === next && m.zone === zone)
        ?.lengthMm;
    const verdicts = this.limits
      .filter(({ formulaId }) => formulaId === visit.formulaId)
      .flatMap(({ kind, zone, against, by, value }): boolean[] => {
        const length = on(zone);
        if (next === undefined || length === undefined) return [];
        const left = this.lengths.find((row) => row.formulaId === visit.formulaId && row.zone === zone);
        const other = on(against);
        if (kind === 'longer-than') return [length > value];
        if (kind === 'grown-by' && left) return [length > Math.min(left.leftMm, left.wantedMm) + value];
        if (kind === 'contrast' && other !== undefined)
          return [by === 'ratio' ? other / length < value : other - length < value];
        return [];
      });
    return verdicts.length === 0 ? undefined : verdicts.includes(true);
  }
}

export type Sums = Readonly<Record<string, number>>;

/** Adds up what `of` says of each thing under its key. */
export function tally<T>(
  things: readonly T[],
  key: (thing: T) => string,
  of: (thing: T) => Sums,
): Map<string, Sums> {
  const sums = new Map<string, Record<string, number>>();
  for (const thing of things) {
    const sum = sums.get(key(thing)) ?? {};
    for (const [name, number] of Object.entries(of(thing))) sum[name] = (sum[name] ?? 0) + number;
    sums.set(key(thing), sum);
  }
  return sums;
}

export function asMap(rows: readonly ({ readonly key: string } & object)[]): Map<string, Sums> {
  return new Map(
    rows.map(({ key, ...sums }) => {
      const { also: _, ...numbers } = sums as Record<string, unknown>;
      return [key, numbers as Sums];
    }),
  );
}

/** What triggers keep beside each visit, against what the visits themselves say. */
export async function keptBeside({ reader }: TestStore): Promise<Map<string, unknown>> {
  const rows: { id: string; nextOn: string | null; firstOn: string; shape: string | null }[] =
    await reader.manager.query('SELECT id, "nextOn", "firstOn", shape FROM visit');
  return new Map(rows.map(({ id, ...columns }) => [id, columns]));
}
