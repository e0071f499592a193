import { Body, Controller, Get, Param, Post } from '@nestjs/common';
import { DomainError } from '../base/index.js';
import { type ClientRecord, Clients } from '../clients/index.js';
import { Consultations } from '../consultations/index.js';
import { Formulas, Visits } from '../cuts/index.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { may, type Principal } from '../identity/index.js';
import { Salons } from '../salon/index.js';
import { CAUTIONS } from '../skin-tests/index.js';
import { Reader } from '../store/index.js';
import {
  CONSULTATION_CHOICES,
  consentView,
  consultationView,
  firstConsultation,
  healthView,
  readConsultation,
} from './consultation-view.js';
import { shortDay } from './days.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front, type Setting, staffOptions } from './front.js';
import { nameOf } from './words.js';

/** Visits that a consultation can be put to. */
const VISITS_OFFERED = 5;

type Subject = Setting & { readonly client: ClientRecord; readonly name: string };

/** What was talked over: recorded, and read again before the next cut. */
@Controller('clients/:id/consultations')
export class ConsultationsPages {
  constructor(
    private readonly reader: Reader,
    private readonly front: Front,
    private readonly salons: Salons,
    private readonly clients: Clients,
    private readonly formulas: Formulas,
    private readonly visits: Visits,
    private readonly consultations: Consultations,
  ) {}

  @Needs('cut.read')
  @Get()
  async list(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const { client, name, salon, spoken } = await this.subject(call.principal, id);
    const [staff, house] = [await this.salons.staff(salon.id), await this.house(salon.id)];
    const all = await this.consultations.ofClient(id);
    const consents = await this.consultations.consents(id);
    await renderPage(call, 'consultations', {
      heading: `Consultations with ${name}`,
      client,
      name,
      consultations: all.map((one) => consultationView(one, staff, house, spoken)),
      consents: consents.map((consent) => consentView(consent, spoken)),
      chairside: true,
    });
  }

  @Needs('cut.write')
  @Get('new')
  async add(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const subject = await this.subject(call.principal, id);
    const [last] = await this.consultations.ofClient(id, 1);
    const by = subject.me?.id ?? subject.client.preferredStaffId ?? '';
    await this.showForm(
      call,
      subject,
      openForm(firstConsultation(last, by, subject.today)),
      last &&
        `Density, texture, wave and growth are as on ${shortDay(last.heldOn, subject.spoken)}: look again.`,
    );
  }

  @Needs('cut.write')
  @Post('new')
  async added(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const subject = await this.subject(call.principal, id);
    const values = typedValues(body);
    const { input, rename } = readConsultation(values, id, may(call.principal.role, 'client.health'));
    await answerForm({
      call,
      // Empty boxes of ticks are not sent; the others keep their messages beside them.
      values: { ...firstConsultation(undefined, '', ''), ...values },
      rename,
      again: (form) => this.showForm(call, subject, form),
      work: async () => {
        const { consultation, safetyNotesRaised } = await this.consultations.record(input, call.actor);
        const bars =
          safetyNotesRaised > 0 ? ' What was seen or told bars colour from now on: see the skin tests.' : '';
        leaveNotice(call, `The consultation is on record.${bars}`);
        await call.redirectTo(`/clients/${id}/consultations/${consultation.id}`);
      },
    });
  }

  @Needs('cut.read')
  @Get(':consultationId')
  async one(
    @Called() call: Call,
    @Param('id') id: string,
    @Param('consultationId') consultationId: string,
  ): Promise<void> {
    const { client, name, salon, spoken } = await this.subject(call.principal, id);
    const consultation = await this.consultations.get(consultationId);
    if (consultation.clientId !== id) throw DomainError.notFound('CONSULTATION.NOT_FOUND', 'consultation');
    const [staff, house] = [await this.salons.staff(salon.id), await this.house(salon.id)];
    const health = may(call.principal.role, 'client.health')
      ? healthView(await this.consultations.health(consultationId, call.actor))
      : undefined;
    const one = consultationView(consultation, staff, house, spoken);
    await renderPage(call, 'consultation', {
      heading: `Consultation of ${one.on} with ${name}`,
      client,
      name,
      one,
      health,
      cautions: CAUTIONS,
      chairside: true,
    });
  }

  private async subject(principal: Principal, id: string): Promise<Subject> {
    const setting = await this.front.setting(principal);
    const client = await this.clients.get(id);
    return { ...setting, client, name: nameOf(client) };
  }

  private house(salonId: string) {
    return this.formulas.house(this.reader.manager, salonId);
  }

  private async showForm(
    call: Call,
    { client, name, salon, spoken }: Subject,
    form: FormState,
    carried = '',
  ): Promise<void> {
    const visits = await this.visits.ofClient(this.reader.manager, client.id, VISITS_OFFERED);
    await renderPage(call, 'consultations-new', {
      heading: `Consultation with ${name}`,
      client,
      name,
      form,
      carried,
      health: may(call.principal.role, 'client.health'),
      stylists: staffOptions(await this.front.stylists(salon.id)),
      house: (await this.house(salon.id)).map((one) => ({ value: one.id, label: one.name })),
      visits: visits.map(({ id, visitOn }) => ({ value: id, label: shortDay(visitOn, spoken) })),
      cautions: CAUTIONS,
      chairside: true,
      ...CONSULTATION_CHOICES,
    });
  }
}
