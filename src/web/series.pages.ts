import { Body, Controller, Get, Param, Post, Query } from '@nestjs/common';
import { DomainError } from '../base/index.js';
import { Clients } from '../clients/index.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { Series, SeriesProposals } from '../rebooking/index.js';
import { Salons } from '../salon/index.js';
import { BookedAhead } from './booked-ahead.js';
import { momentText } from './days.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front, staffOptions } from './front.js';
import { proposedRow, seriesView, slotOf } from './series-view.js';
import { counted, nameOf, optionsOf } from './words.js';

const WISHES = optionsOf({ price: 'price', minutes: 'time in the chair' });
const MOST_VISITS = 60;

type Values = Readonly<Record<string, string>>;

/** Visits booked ahead as a whole: looked at before, changed and dropped after. */
@Needs('book.write')
@Controller()
export class SeriesPages {
  constructor(
    private readonly front: Front,
    private readonly salons: Salons,
    private readonly clients: Clients,
    private readonly series: Series,
    private readonly proposals: SeriesProposals,
    private readonly ahead: BookedAhead,
  ) {}

  @Get('clients/:id/series/new')
  async preview(@Called() call: Call, @Param('id') id: string, @Query() query: unknown): Promise<void> {
    await this.showPreview(call, id, openForm(typedValues(query)));
  }

  @Post('clients/:id/series')
  async booked(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const values = typedValues(body);
    const chosen = chosenVisits(values);
    await answerForm({
      call,
      values,
      rename: (field) => {
        const [, place] = /^visits\.(\d+)\./.exec(field) ?? [];
        return place === undefined ? field : `visit.${chosen[Number(place)]?.place}`;
      },
      again: (form) => this.showPreview(call, id, form),
      work: async () => {
        if (chosen.length === 0) {
          throw DomainError.invalid('SERIES.EMPTY', 'visit.0', 'Choose a time for at least one visit.');
        }
        const visits = chosen.map(({ startsAt, staffId, serviceIds }) => ({ startsAt, staffId, serviceIds }));
        const wanted = { clientId: id, name: values['name'] || 'Standing series', visits };
        const { series } = await this.series.add(wanted, call.actor);
        const name = nameOf(await this.clients.get(id));
        leaveNotice(call, `${name} is booked for ${counted(visits.length, 'visit')}.`);
        await call.redirectTo(`/series/${series.id}`);
      },
    });
  }

  @Needs('book.read')
  @Get('series/:id')
  async show(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.showSeries(call, id, openForm());
  }

  @Post('series/:id/change')
  async change(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      // A visit of those that move, which the message names, is no box of this form.
      rename: (field) => (field.startsWith('visits.') ? 'shiftDays' : field),
      again: (form) => this.showSeries(call, id, form),
      work: async () => {
        await this.series.change(id, values, call.actor);
        leaveNotice(call, 'Moved, all of them.');
        await call.redirectTo(`/series/${id}`);
      },
    });
  }

  /** One visit of the series is left out; the others stay. */
  @Post('series/:id/skip')
  async skip(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.showSeries(call, id, form),
      work: async () => {
        const one = await this.series.skip(id, values, call.actor);
        const { salon, spoken } = await this.front.setting(call.principal);
        leaveNotice(call, `${momentText(one.startsAt, salon.zone, spoken)} is left out.`);
        await call.redirectTo(`/series/${id}`);
      },
    });
  }

  @Post('series/:id/drop')
  async drop(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await answerForm({
      call,
      values: {},
      again: (form) => this.showSeries(call, id, form),
      work: async () => {
        await this.series.drop(id, call.actor);
        leaveNotice(call, 'Dropped: every visit that was still ahead is cancelled.');
        await call.redirectTo(`/series/${id}`);
      },
    });
  }

  private async showPreview(call: Call, id: string, form: FormState): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const { salon, now, spoken } = setting;
    const client = await this.clients.get(id);
    const stylists = await this.front.stylists(salon.id);
    const { wish, time, staffId } = form.values;
    const asked = {
      wish: WISHES.find(({ value }) => value === wish)?.value ?? 'price',
      time: /^\d\d:\d\d$/.test(time ?? '') ? time : null,
      staffId: stylists.find((one) => one.id === staffId)?.id ?? null,
    };
    const proposal = await this.proposals.of(id, asked);
    const rows =
      'refused' in proposal ? [] : proposal.visits.map((visit, place) => proposedRow(visit, place, setting));
    const values = {
      name: 'Standing series',
      ...Object.fromEntries(rows.map((row) => [`visit.${row.place}`, row.first])),
      ...form.values,
      wish: asked.wish,
      time: asked.time ?? '',
      staffId: asked.staffId ?? '',
    };
    await renderPage(call, 'series-new', {
      heading: `Book ahead for ${nameOf(client)}`,
      frontDesk: true,
      client,
      name: nameOf(client),
      form: { ...form, values },
      wishes: WISHES,
      stylists: staffOptions(stylists),
      refused: 'refused' in proposal ? proposal.refused : '',
      rows,
      misfits: counted(rows.filter(({ misfit }) => misfit).length, 'visit'),
      hasMisfits: rows.some(({ misfit }) => misfit),
      booked: (await this.ahead.of(id, now)).map((one) => ({
        id: one.id,
        when: momentText(one.startsAt, salon.zone, spoken),
      })),
    });
  }

  private async showSeries(call: Call, id: string, form: FormState): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const { salon } = setting;
    const whole = await this.series.get(id);
    const client = await this.clients.get(whole.series.clientId);
    const [services, staff] = [await this.salons.services(salon.id), await this.salons.staff(salon.id)];
    await renderPage(call, 'series', {
      heading: `${whole.series.name} of ${nameOf(client)}`,
      frontDesk: true,
      client,
      form,
      series: seriesView(whole, services, staff, setting),
      stylists: staffOptions(await this.front.stylists(salon.id)),
    });
  }
}

/** The visits of the form that were given a time, in order, with their place among those planned. */
function chosenVisits(values: Values) {
  return Array.from({ length: MOST_VISITS }, (_, place) => {
    const slot = slotOf(values[`visit.${place}`]);
    const serviceIds = (values[`services.${place}`] ?? '').split(',').filter(Boolean);
    return slot ? [{ place, serviceIds, ...slot }] : [];
  }).flat();
}
