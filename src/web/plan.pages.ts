import { Controller, Get, Param, Query } from '@nestjs/common';
import { dateIn } from '../base/index.js';
import { Clients } from '../clients/index.js';
import type { PlannedCut, TidiesPlan } from '../engine/plan/index.js';
import { Call, Called, Needs, renderPage } from '../http/index.js';
import { may } from '../identity/index.js';
import { Series, TidyPlans } from '../rebooking/index.js';
import type { Service } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { dayText } from './days.js';
import { Front, type Setting } from './front.js';
import { lengthText } from './lengths.js';
import { told, whyView } from './told.js';
import { counted, nameOf, optionsOf, ZONE_WORDS } from './words.js';

const WISHES = ['price', 'minutes'] as const;
const WISH_OPTIONS = optionsOf({ price: 'price', minutes: 'time in the chair' });

/** The visits of the next half year that keep the shape, at least cost. */
@Controller('clients/:id/plan')
export class PlanPages {
  constructor(
    private readonly reader: Reader,
    private readonly front: Front,
    private readonly clients: Clients,
    private readonly plans: TidyPlans,
    private readonly series: Series,
  ) {}

  @Needs('book.read')
  @Get()
  async plan(@Called() call: Call, @Param('id') id: string, @Query('wish') asked?: string): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const { ruler, spoken, today } = setting;
    const client = await this.clients.get(id);
    const wish = WISHES.find((one) => one === asked) ?? 'price';
    const found = await this.plans.of(this.reader.manager, client.id, today, wish);
    const services = await this.front.services(setting.salon.id);
    // Lengths are the stylist's business; the desk sees days, services and what they cost.
    const cuts = may(call.principal.role, 'cut.read');
    await renderPage(call, 'plan', {
      heading: `Plan of tidies for ${nameOf(client)}`,
      client,
      name: nameOf(client),
      form: { values: { wish } },
      wishes: WISH_OPTIONS,
      currency: setting.salon.currency,
      series: (await this.series.of(client.id)).map(({ id, name, madeAt }) => ({
        id,
        name,
        made: dayText(dateIn(setting.salon.zone, madeAt), spoken),
      })),
      ...('refused' in found
        ? { refused: found.refused }
        : {
            ...planView(found.plan, setting),
            visits: found.plan.cuts.map((cut) => visitView(cut, services, client.id, found.staffId, setting)),
            ...(cuts && {
              words: told(found.plan.words, ruler, spoken),
              reach: reachView(found.plan, setting),
              why: whyView(withMoney(found.why, setting), ruler, spoken),
            }),
          }),
    });
  }
}

function visitView(
  cut: PlannedCut,
  services: readonly Service[],
  clientId: string,
  staffId: string | undefined,
  { spoken }: Setting,
) {
  return {
    day: dayText(cut.on, spoken),
    services: cut.services.join(' and '),
    zones: cut.kind === 'full' ? '' : cut.zones.map((zone) => ZONE_WORDS[zone].toLowerCase()).join(', '),
    minutes: cut.minutes,
    price: cut.price,
    link: bookLink(cut, services, clientId, staffId),
  };
}

/** Where to book the visit alone; the first of its services is looked for, the plan as a whole books all in one sitting. */
function bookLink(
  { services: names, on }: PlannedCut,
  services: readonly Service[],
  clientId: string,
  staffId: string | undefined,
): string | undefined {
  const service = services.find(({ name }) => name === names[0]);
  if (!service || names.length > 1) return undefined;
  const query = new URLSearchParams({ clientId, serviceId: service.id, date: on });
  if (staffId) query.set('staffId', staffId);
  return `/book?${query.toString()}`;
}

function planView({ visits, price, minutes, habit, overdue }: TidiesPlan, { spoken }: Setting) {
  return {
    totals: { visits: counted(visits, 'visit'), price, minutes },
    habit: habit && {
      visits: counted(habit.visits, 'visit'),
      price: habit.price,
      minutes: habit.minutes,
    },
    overdue: overdue.map((zone) => ZONE_WORDS[zone].toLowerCase()).join(', '),
    from: dayText(spoken.today, spoken),
  };
}

function reachView({ reach }: TidiesPlan, { ruler }: Setting) {
  return reach.map(({ zone, uncutDays, grownMm, longestMm }) => ({
    zone: ZONE_WORDS[zone],
    days: counted(uncutDays, 'day'),
    grown: lengthText(grownMm, ruler.units),
    longest: lengthText(longestMm, ruler.units),
  }));
}

/** The engine counts in the smallest coin. */
function withMoney(why: Parameters<typeof whyView>[0], { salon }: Setting) {
  const money = new Intl.NumberFormat(salon.locale, { style: 'currency', currency: salon.currency });
  const { maximumFractionDigits: digits = 2 } = money.resolvedOptions();
  const inputs = why.inputs.map(({ name, value }) => ({
    name,
    value: value.replace(/^price (\d+)/, (_, minor: string) => money.format(Number(minor) / 10 ** digits)),
  }));
  return { ...why, inputs };
}
