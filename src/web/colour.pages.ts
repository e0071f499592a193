import { Body, Controller, Get, Param, Post, Query } from '@nestjs/common';
import { DomainError } from '../base/index.js';
import { Clients } from '../clients/index.js';
import { ColourFormulas, RootBands } from '../colour/index.js';
import { Visit, Visits } from '../cuts/index.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import type { Principal } from '../identity/index.js';
import { CAUTIONS, SkinTests } from '../skin-tests/index.js';
import { Reader } from '../store/index.js';
import {
  bandView,
  firstMixture,
  LINES_FOLDED,
  LINES_SHOWN,
  mixtureView,
  PLACE_WORDS,
  readMixture,
} from './colour-view.js';
import { dayText, shortDay } from './days.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front, type Setting } from './front.js';
import { GateAnswers } from './gate-answers.js';
import { lengthInBox } from './lengths.js';
import { testedLines } from './skin-tests-view.js';
import { Typed } from './typed.js';
import { nameOf, optionsOf, ZONE_OPTIONS } from './words.js';

/** Visits looked through for colours without a mixture on record. */
const VISITS_LOOKED_AT = 50;

type Subject = Setting & { readonly id: string; readonly name: string };
type Sitting = Subject & { readonly visit: Visit };

/** Colour formulas and the root band. Nothing here lets anybody colour: the gate is asked by what books and closes. */
@Needs('cut.read')
@Controller()
export class ColourPages {
  constructor(
    private readonly reader: Reader,
    private readonly front: Front,
    private readonly clients: Clients,
    private readonly visits: Visits,
    private readonly skinTests: SkinTests,
    private readonly formulas: ColourFormulas,
    private readonly bands: RootBands,
    private readonly gate: GateAnswers,
  ) {}

  @Get('clients/:id/colour')
  async list(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const subject = await this.subject(call.principal, id);
    const tolerance = await this.bands.tolerance(this.reader.manager, id);
    const form = openForm({
      tolerance: lengthInBox(tolerance?.toleranceMm, subject.ruler.units),
      zone: tolerance?.zone ?? 'top',
      expectedVersion: tolerance ? String(tolerance.version) : '',
    });
    await this.showList(call, subject, form);
  }

  @Post('clients/:id/colour/tolerance')
  @Needs('cut.write')
  async tolerance(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const subject = await this.subject(call.principal, id);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      rename: (field) => (field === 'toleranceMm' ? 'tolerance' : field),
      again: (form) => this.showList(call, subject, form),
      work: async () => {
        const typed = new Typed(values);
        const toleranceMm = typed.lengthMm('tolerance', 'Tolerance', subject.ruler);
        typed.finish();
        const { zone, expectedVersion } = values;
        await this.bands.setTolerance(id, { toleranceMm, zone, expectedVersion }, call.actor);
        leaveNotice(call, 'The tolerance is on record.');
        await call.redirectTo(`/clients/${id}/colour`);
      },
    });
  }

  @Get('visits/:id/colour')
  @Needs('cut.write')
  async form(@Called() call: Call, @Param('id') id: string, @Query('from') from?: string): Promise<void> {
    const sitting = await this.sitting(call.principal, id);
    const all = await this.formulas.ofClient(sitting.id);
    const source = from === 'none' ? undefined : (all.find(({ formula }) => formula.id === from) ?? all[0]);
    const values = firstMixture(source, sitting.visit.productLine ?? '');
    await this.showForm(call, sitting, openForm(values), source?.formula.id);
  }

  @Post('visits/:id/colour')
  @Needs('cut.write')
  async record(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const sitting = await this.sitting(call.principal, id);
    const values = typedValues(body);
    const { input, rename } = readMixture(values);
    await answerForm({
      call,
      values,
      rename,
      again: (form) => this.showForm(call, sitting, form),
      work: async () => {
        const { formula } = await this.formulas.record(id, input, call.actor);
        leaveNotice(call, `The mixture “${formula.name}” is on record.`);
        await call.redirectTo(`/clients/${sitting.id}/colour`);
      },
    });
  }

  private async subject(principal: Principal, id: string): Promise<Subject> {
    const setting = await this.front.setting(principal);
    return { ...setting, id, name: nameOf(await this.clients.get(id)) };
  }

  private async sitting(principal: Principal, visitId: string): Promise<Sitting> {
    const visit = await this.reader.manager.findOneBy(Visit, { id: visitId });
    if (!visit) throw DomainError.notFound('VISIT.NOT_FOUND', 'visit');
    return { ...(await this.subject(principal, visit.clientId)), visit };
  }

  private async showList(
    call: Call,
    { id, name, salon, ruler, spoken, now }: Subject,
    form: FormState,
  ): Promise<void> {
    const band = await this.bands.of(id);
    const mixtures = await this.formulas.ofClient(id);
    const visits = await this.visits.ofClient(this.reader.manager, id, VISITS_LOOKED_AT);
    const mixed = new Set(mixtures.map(({ formula }) => formula.visitId));
    const lastLine =
      mixtures[0]?.lines[0]?.productLine ?? testedLines(await this.skinTests.ofClient(id))[0] ?? '';
    await renderPage(call, 'colour', {
      heading: `Colour of ${name}`,
      id,
      name,
      form,
      band: band && bandView(band, ruler, spoken),
      units: ruler.units,
      zones: ZONE_OPTIONS,
      lastLine,
      answer: await this.gate.of(id, salon, { productLine: lastLine, at: now, now }),
      mixtures: mixtures.map((one) => mixtureView(one, spoken)),
      coloured: visits
        .filter(({ colourAt }) => colourAt != null)
        .map((visit) => ({
          id: visit.id,
          on: dayText(visit.visitOn, spoken),
          line: visit.productLine,
          mixed: mixed.has(visit.id),
        })),
      cautions: CAUTIONS,
      chairside: true,
    });
  }

  private async showForm(
    call: Call,
    { id, name, visit, spoken }: Sitting,
    form: FormState,
    from = 'none',
  ): Promise<void> {
    const earlier = await this.formulas.ofClient(id, 12);
    await renderPage(call, 'colour-form', {
      heading: `Colour of ${name} on ${shortDay(visit.visitOn, spoken)}`,
      id,
      name,
      visitId: visit.id,
      on: dayText(visit.visitOn, spoken),
      gated: visit.colourAt != null && visit.productLine != null,
      passed: visit.productLine,
      form,
      from: openForm({ from }),
      sources: [
        ...earlier.map(({ formula }) => ({
          value: formula.id,
          label: `${formula.name}, ${shortDay(formula.colouredOn, spoken)}`,
        })),
        { value: 'none', label: 'Nothing: a new mixture' },
      ],
      rows: LINES_SHOWN,
      moreRows: LINES_FOLDED,
      moreOpen: LINES_FOLDED.some((place) => form.values[`line.${place}.productLine`]),
      places: optionsOf(PLACE_WORDS),
      zones: ZONE_OPTIONS,
      strengths: optionsOf({ percent: 'percent', volumes: 'volumes' }),
      cautions: CAUTIONS,
      chairside: true,
    });
  }
}
