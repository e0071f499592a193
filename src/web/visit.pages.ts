import { Body, Controller, Get, Param, Post, Query, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { DomainError } from '../base/index.js';
import { type Appointment, Book } from '../book/index.js';
import { type ClientRecord, Clients } from '../clients/index.js';
import { Formulas, GrowthAdjustedFormulas, MEASURING_TOOLS, type WholeFormula } from '../cuts/index.js';
import { By, leaveNotice, Needs, renderPage, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { Checkout } from '../rebooking/index.js';
import { Salons, type Service } from '../salon/index.js';
import { CAUTIONS } from '../skin-tests/index.js';
import { Reader } from '../store/index.js';
import { dayText, momentText } from './days.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front, type Setting } from './front.js';
import { firstValues, readVisit, zoneForms } from './visit-form.js';
import { METHOD_WORDS, nameOf, optionsOf, SECTION_WORDS, TECHNIQUE_WORDS, ZONE_OPTIONS } from './words.js';

type Sitting = Setting & {
  readonly appointment: Appointment;
  readonly client: ClientRecord;
  readonly service: Service;
};

const TOOL_WORDS = { hand: 'the hand', ruler: 'a ruler', guard: 'a guard' } satisfies Record<
  (typeof MEASURING_TOOLS)[number],
  string
>;

const CHOICES = {
  methods: optionsOf(METHOD_WORDS),
  sections: optionsOf(SECTION_WORDS),
  techniques: optionsOf(TECHNIQUE_WORDS),
  tools: optionsOf(TOOL_WORDS),
  zoneOptions: ZONE_OPTIONS,
  done: optionsOf({ cut: 'cut', grow: 'left to grow', not: 'not touched' }),
};

@Needs('cut.write')
@Controller('appointments/:id/complete')
export class VisitPages {
  constructor(
    private readonly reader: Reader,
    private readonly front: Front,
    private readonly salons: Salons,
    private readonly clients: Clients,
    private readonly book: Book,
    private readonly formulas: Formulas,
    private readonly adjusted: GrowthAdjustedFormulas,
    private readonly checkout: Checkout,
  ) {}

  @Get()
  async form(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Param('id') id: string,
    @Query('from') from?: string,
  ): Promise<void> {
    const sitting = await this.sitting(principal, id);
    const source = await this.source(sitting, from);
    const values = firstValues(source, sitting.service, sitting.ruler, sitting.salon.currency);
    await this.show(request, reply, sitting, openForm(values), source);
  }

  @Post()
  async complete(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Param('id') id: string,
    @Body() body: unknown,
  ): Promise<void> {
    const sitting = await this.sitting(principal, id);
    const values = typedValues(body);
    const source = await this.source(sitting, values['basedOnId'] || 'none');
    let rename: ((field: string) => string) | undefined;
    await answerForm({
      reply,
      values,
      rename: (field) => rename?.(field) ?? field,
      again: (form) => this.show(request, reply, sitting, form, source),
      work: async () => {
        const read = readVisit(values, source, sitting.service, sitting.ruler, sitting.salon.currency);
        rename = read.rename;
        await this.checkout.complete(id, read.input, actor);
        leaveNotice(request, reply, `${nameOf(sitting.client)}: visit complete.`);
        await reply.redirect(
          `/clients/${sitting.client.id}/rebook?staffId=${sitting.appointment.staffId}`,
          303,
        );
      },
    });
  }

  private async sitting(principal: Principal, id: string): Promise<Sitting> {
    const setting = await this.front.setting(principal);
    const appointment = await this.book.get(id);
    const client = await this.clients.get(appointment.clientId);
    const service = (await this.salons.services(setting.salon.id)).find(
      (one) => one.id === appointment.serviceId,
    );
    if (!service) throw DomainError.notFound('SERVICE.NOT_FOUND', 'service');
    return { ...setting, appointment, client, service };
  }

  /** The formula to start from: the one named, the client's last, or nothing for 'none'. Never another client's. */
  private async source(sitting: Sitting, from: string | undefined): Promise<WholeFormula | undefined> {
    const { manager } = this.reader;
    if (from === 'none') return undefined;
    if (from === undefined || from === '') return await this.formulas.current(manager, sitting.client.id);
    const whole = await this.formulas.read(manager, from);
    const { clientId, salonId } = whole.formula;
    if (salonId !== sitting.salon.id || (clientId !== null && clientId !== sitting.client.id)) {
      throw DomainError.notFound('CUT.NOT_FOUND', 'cut formula');
    }
    return whole;
  }

  private async show(
    request: FastifyRequest,
    reply: FastifyReply,
    sitting: Sitting,
    form: FormState,
    source: WholeFormula | undefined,
  ): Promise<void> {
    const { salon, appointment, client, service, ruler, today, spoken } = sitting;
    const { manager } = this.reader;
    const adjusted = await this.adjusted.of(manager, client.id, today);
    const own = await this.formulas.ofClient(manager, client.id, 12);
    const house = await this.formulas.house(manager, salon.id);
    const sources = [
      ...own.map(({ id, name, cutOn }) => ({
        value: id,
        label: cutOn ? `${name}, ${dayText(cutOn, spoken)}` : name,
      })),
      ...house.map(({ id, name }) => ({ value: id, label: `House formula: ${name}` })),
    ];
    const zones = zoneForms(source, adjusted?.zones ?? [], ruler, Object.keys(form.errors));
    await renderPage(request, reply, 'complete', {
      heading: `Complete the visit of ${nameOf(client)}`,
      form,
      id: appointment.id,
      client,
      name: nameOf(client),
      service,
      when: momentText(appointment.startsAt, salon.zone, spoken),
      units: ruler.units,
      currency: salon.currency,
      sources: [...sources, { value: 'none', label: 'Nothing: a new shape' }],
      from: { values: { from: source?.formula.id ?? 'none' } },
      source: source?.formula,
      zones: zones.filter(({ recorded }) => recorded),
      otherZones: zones.filter(({ recorded }) => !recorded),
      colour: service.kind === 'colour',
      cautions: CAUTIONS,
      scripts: ['visit-form'],
      ...CHOICES,
    });
  }
}
