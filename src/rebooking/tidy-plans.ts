import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { addDays, daysBetween } from '../base/index.js';
import { Client } from '../clients/index.js';
import { cutShape, Formulas, GrowthProfiles, headOptions, Visit, type WholeFormula } from '../cuts/index.js';
import { EngineError } from '../engine/errors.js';
import type { Why } from '../engine/growth/index.js';
import { explainTidies, planTidies, type TidiesInput, type TidiesPlan } from '../engine/plan/index.js';
import { Salon, Service } from '../salon/index.js';
import { engineLimit } from './engine-limits.js';
import { usualStaffId, workingDates } from './working-days.js';

const HORIZON_DAYS = 182;
/** A shape kept by tidies alone loses its lines: a full cut at least so often (common practice, no source). */
const FULL_EVERY_WEEKS = 12;
/** Coming costs something even when the tidy is cheap, so that nobody is asked to come weekly; in the smallest coin. */
const VISIT_COST_MINOR = 300;
const VISIT_COST_MINUTES = 10;
/** Visits that make a habit. */
const HABIT_VISITS = 6;

/** The client's visits for the next half year, or why there is no plan, in words. */
export type TidyPlan =
  | { readonly plan: TidiesPlan; readonly why: Why; readonly staffId: string | undefined }
  | { readonly refused: string };

/** Which visits keep the shape within its limits at least cost. */
@Injectable()
export class TidyPlans {
  constructor(
    private readonly formulas: Formulas,
    private readonly profiles: GrowthProfiles,
  ) {}

  /** From `today` ('YYYY-MM-DD'), by price or by minutes as the client wishes. */
  async of(
    manager: EntityManager,
    clientId: string,
    today: string,
    wish: TidiesInput['wish'] = 'price',
  ): Promise<TidyPlan> {
    const whole = await this.formulas.current(manager, clientId);
    if (!whole?.formula.cutOn || whole.limits.length === 0) {
      return { refused: 'There is no recorded cut with hold limits yet: record one first.' };
    }
    const client = await manager.findOneByOrFail(Client, { id: clientId });
    const salon = await manager.findOneByOrFail(Salon, { id: client.salonId });
    const services = await manager.findBy(Service, { salonId: salon.id, active: true });
    const full = services
      .filter(({ kind }) => kind === 'full-cut')
      .sort((a, b) => a.priceMinor - b.priceMinor)[0];
    if (!full) return { refused: 'The salon offers no full cut: add one to its services.' };
    const staffId = await usualStaffId(manager, client);
    const working = await workingDates(manager, salon, staffId, today, addDays(today, HORIZON_DAYS));
    const visits = await manager.find(Visit, {
      where: { clientId },
      order: { visitOn: 'DESC', id: 'DESC' },
      take: 60,
    });
    const offered = ({ name, priceMinor, minutes }: Service) => ({ name, price: priceMinor, minutes });
    const habit = habitDays(visits);
    const shape = cutShape(headOptions(client), whole);
    const input: TidiesInput = {
      profile: await this.profiles.of(manager, clientId),
      from: today,
      horizonDays: HORIZON_DAYS,
      zones: whole.lengths.map(({ zone, leftMm, leftSdMm, leftOn }) => ({
        zone,
        leftMm,
        leftSdMm,
        cutOn: leftOn,
      })),
      limits: limitsOf(whole, shape),
      full: offered(full),
      lastFullOn: lastFullOn(visits, services) ?? whole.formula.cutOn,
      fullEveryWeeks: FULL_EVERY_WEEKS,
      tidies: services
        .filter(({ kind, zones }) => kind === 'tidy' && zones.length > 0)
        .map((service) => ({ ...offered(service), zones: service.zones })),
      wish,
      visitCost: wish === 'price' ? VISIT_COST_MINOR : VISIT_COST_MINUTES,
      allowed: (date) => working.has(date),
      ...(habit !== undefined && { habitEveryDays: habit }),
    };
    try {
      const plan = planTidies(input);
      return { plan, why: explainTidies(input, plan), staffId };
    } catch (error) {
      if (error instanceof EngineError) return { refused: error.message };
      throw error;
    }
  }
}

/** A root band is kept by colour, not by cutting. */
function limitsOf(whole: WholeFormula, shape: ReturnType<typeof cutShape>) {
  return whole.limits
    .filter(({ kind }) => kind !== 'root-band')
    .map((row) => engineLimit(row, whole.lengths, shape));
}

function lastFullOn(visits: readonly Visit[], services: readonly Service[]): string | undefined {
  const tidies = new Set(services.filter(({ kind }) => kind !== 'full-cut').map(({ id }) => id));
  return visits.find(({ serviceId, formulaId }) => formulaId !== null && !tidies.has(serviceId))?.visitOn;
}

/** Days between her last visits, the middle value; undefined before there are three. */
function habitDays(visits: readonly Visit[]): number | undefined {
  const days = visits
    .slice(0, HABIT_VISITS)
    .flatMap(({ visitOn }, i, all) => {
      const earlier = all[i + 1];
      return earlier ? [daysBetween(earlier.visitOn, visitOn)] : [];
    })
    .filter((gap) => gap > 0)
    .sort((a, b) => a - b);
  return days.length < 2 ? undefined : days[Math.floor(days.length / 2)];
}
