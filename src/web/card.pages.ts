import { Controller, Get, Param, Query } from '@nestjs/common';
import { In, IsNull } from 'typeorm';
import { dateIn } from '../base/index.js';
import { type ClientRecord, Clients } from '../clients/index.js';
import { CutFormula, type DrawnMoment, GrowthAdjustedFormulas, Visits } from '../cuts/index.js';
import { Call, Called, Needs, renderPage } from '../http/index.js';
import { type Actor, may, type Principal } from '../identity/index.js';
import { Windows } from '../rebooking/index.js';
import { Salons } from '../salon/index.js';
import { CAUTIONS, MedicalClearance, SafetyNote, SkinTest } from '../skin-tests/index.js';
import { Reader } from '../store/index.js';
import { BookedAhead } from './booked-ahead.js';
import { CardDrawings } from './card-drawings.js';
import { cutView, timeline, windowView } from './card-view.js';
import { dayAsked, dayText, momentText, shortDay } from './days.js';
import { Front, type Setting } from './front.js';
import { safetyView } from './safety-view.js';
import { whyView } from './told.js';
import { nameOf, phoneText } from './words.js';

/** Moments that an address may ask for instead of a day. */
const SHOWN = ['as-cut', 'wanted'] as const satisfies readonly DrawnMoment[];
/** The rest is folded away. */
const VISITS_SHOWN = 5;

/** The client's card: what must be seen first, what is on the head, when to come back, what was done. */
@Controller('clients/:id')
export class CardPages {
  constructor(
    private readonly reader: Reader,
    private readonly front: Front,
    private readonly salons: Salons,
    private readonly clients: Clients,
    private readonly visits: Visits,
    private readonly adjusted: GrowthAdjustedFormulas,
    private readonly drawings: CardDrawings,
    private readonly windows: Windows,
    private readonly ahead: BookedAhead,
  ) {}

  @Needs('client.read')
  @Get()
  async card(
    @Called() call: Call,
    @Param('id') id: string,
    @Query('on') asked?: string,
    @Query('show') show?: string,
  ): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const { salon, today, now, ruler, spoken } = setting;
    const client = await this.clients.get(id);
    const cuts = may(call.principal.role, 'cut.read');
    const on = dayAsked(asked, spoken);
    const moment = SHOWN.find((one) => one === show) ?? 'today';
    const { manager } = this.reader;
    const stored = await this.windows.of(manager, id);
    const adjusted = cuts ? await this.adjusted.of(manager, id, on) : undefined;
    const explained = adjusted && (await this.windows.explained(manager, id, adjusted));
    const [next] = await this.ahead.of(id, now);
    const nextOn = next && dateIn(salon.zone, next.startsAt);
    const visits = await this.history(id, setting, cuts);
    await renderPage(call, 'card', {
      heading: nameOf(client),
      client,
      name: nameOf(client),
      number: client.phone && phoneText(client.phone),
      preferred: await this.preferred(client, salon.id),
      born: client.birthday && shortDay(client.birthday, spoken),
      safety: safetyView(await this.safety(call.principal, call.actor, id), salon, now, spoken),
      cautions: CAUTIONS,
      window: stored && windowView(stored, ruler, spoken),
      windowWhy: explained && whyView(explained.why, ruler, spoken),
      cut: adjusted && cutView(adjusted, explained?.window, ruler, spoken),
      shape: adjusted && this.drawings.card(adjusted, moment, id, spoken),
      cuts,
      on,
      onWords: dayText(on, spoken),
      ahead: on !== today,
      next: next && {
        id: next.id,
        on: nextOn,
        words: momentText(next.startsAt, salon.zone, spoken),
        later: (nextOn ?? today) > today,
        complete: may(call.principal.role, 'cut.write') && nextOn === today,
      },
      visits: visits.slice(0, VISITS_SHOWN),
      earlier: visits.slice(VISITS_SHOWN),
      currency: salon.currency,
      scripts: ['shape-slider'],
    });
  }

  private async preferred({ preferredStaffId }: ClientRecord, salonId: string): Promise<string> {
    if (preferredStaffId === null) return '';
    return (await this.salons.staff(salonId)).find(({ id }) => id === preferredStaffId)?.name ?? '';
  }

  private async safety(principal: Principal, actor: Actor, clientId: string) {
    const { manager } = this.reader;
    return {
      tests: await manager.findBy(SkinTest, { clientId }),
      notes: await manager.findBy(SafetyNote, { clientId, endedAt: IsNull() }),
      clearances: await manager.find(MedicalClearance, {
        where: { clientId },
        order: { recordedAt: 'DESC' },
        take: 1,
      }),
      healthNotes: may(principal.role, 'client.health')
        ? await this.clients.healthNotes(clientId, actor)
        : undefined,
    };
  }

  private async history(clientId: string, { salon, ruler, spoken }: Setting, cuts: boolean) {
    const { manager } = this.reader;
    const visits = await this.visits.ofClient(manager, clientId);
    const formulas = await manager.findBy(CutFormula, {
      id: In(visits.flatMap(({ formulaId }) => (formulaId === null ? [] : [formulaId]))),
    });
    const history = {
      visits,
      measurements: cuts ? await this.visits.measurements(manager, clientId) : [],
      services: await this.salons.services(salon.id),
      staff: await this.salons.staff(salon.id),
      formulaNames: new Map(formulas.map(({ id, name }) => [id, name])),
    };
    return timeline(history, ruler, spoken, cuts);
  }
}
