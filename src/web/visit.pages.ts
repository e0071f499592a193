import { Body, Controller, Get, Param, Post, Query } from '@nestjs/common';
import { DomainError } from '../base/index.js';
import { Formulas, GrowthAdjustedFormulas, HOLD_STATES } from '../cuts/index.js';
import { EngineError } from '../engine/errors.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { Checkout } from '../rebooking/index.js';
import { CAUTIONS } from '../skin-tests/index.js';
import { Reader } from '../store/index.js';
import { dayText, momentText } from './days.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { VISIT_CHOICES } from './visit-choices.js';
import { type Conflict, draftAsked, draftValues, offersOf, VisitDrafts } from './visit-drafts.js';
import { firstValues, readVisit, zoneForms } from './visit-form.js';
import { ENDS_OPTIONS, limitForms, withNewLimit } from './visit-limits.js';
import { type Preview, previewOf, stepRefusal } from './visit-preview.js';
import { type Sitting, VisitSittings } from './visit-sittings.js';
import {
  keyOfCutStep,
  stepForms,
  type Values,
  withNewStep,
  withoutStep,
  withStepMoved,
} from './visit-steps.js';
import { nameOf } from './words.js';

/** What the page shows besides the form's own values. */
type Aside = {
  readonly conflict?: Conflict | undefined;
  readonly offers?: ReturnType<typeof offersOf>;
  readonly kept?: string;
};

@Needs('cut.write')
@Controller('appointments/:id/complete')
export class VisitPages {
  constructor(
    private readonly reader: Reader,
    private readonly sittings: VisitSittings,
    private readonly formulas: Formulas,
    private readonly adjusted: GrowthAdjustedFormulas,
    private readonly checkout: Checkout,
    private readonly drafts: VisitDrafts,
  ) {}

  @Get()
  async form(
    @Called() call: Call,
    @Param('id') id: string,
    @Query('from') from?: string,
    @Query('draft') asked?: string,
  ): Promise<void> {
    const sitting = await this.sittings.of(call.principal, id);
    const stored = await this.drafts.of(sitting);
    const taken = draftAsked(stored, asked);
    if (taken) {
      const values = { ...draftValues(taken), draftVersion: String(stored.draft?.version ?? '') };
      await this.show(call, sitting, openForm(values));
      return;
    }
    const source = await this.sittings.source(sitting, from);
    const values = firstValues(source, sitting.service, sitting.ruler, sitting.salon.currency);
    await this.show(call, sitting, openForm({ ...values, draftVersion: '' }), {
      offers: offersOf(stored, sitting, call.principal.accountId),
    });
  }

  @Post()
  async send(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const sitting = await this.sittings.of(call.principal, id);
    const { do: action = 'complete', ...values } = typedValues(body);
    if (action === 'forget') {
      await this.drafts.drop(sitting, call.actor);
      await call.redirectTo(`/appointments/${id}/complete`);
    } else if (action === 'complete') {
      await this.complete(call, sitting, values);
    } else {
      await this.change(call, sitting, changed(values, action, sitting), action);
    }
  }

  /** Anything but completing: the form again with every value kept, here and in the draft. */
  private async change(call: Call, sitting: Sitting, values: Values, action: string): Promise<void> {
    const saved = await this.drafts.save(sitting, values, call.actor, true);
    const conflict = 'conflict' in saved ? saved.conflict : undefined;
    const version = 'conflict' in saved ? saved.conflict.version : saved.version;
    await this.show(call, sitting, openForm({ ...values, draftVersion: version }), {
      conflict,
      ...(action === 'save' &&
        !conflict && { kept: 'Kept for later. Nothing is recorded until you complete the visit.' }),
    });
  }

  private async complete(call: Call, sitting: Sitting, values: Values): Promise<void> {
    const { appointment, client, ruler, salon, service } = sitting;
    const unseen = await this.drafts.unseen(sitting, values, call.actor);
    if (unseen) {
      const form = openForm({ ...values, draftVersion: unseen.version });
      await this.show(call.status(409), sitting, form, { conflict: unseen });
      return;
    }
    const source = await this.sittings.source(sitting, values['basedOnId'] || 'none');
    let rename: ((field: string) => string) | undefined;
    await answerForm({
      call,
      values,
      rename: (field) => rename?.(field) ?? field,
      again: async (form) => {
        const saved = await this.drafts.save(sitting, values, call.actor, true);
        const version = 'version' in saved ? saved.version : saved.conflict.version;
        await this.show(call, sitting, {
          ...form,
          values: { ...form.values, draftVersion: version },
        });
      },
      work: async () => {
        const read = readVisit(values, source, service, ruler, salon.currency);
        rename = read.rename;
        try {
          await this.checkout.complete(appointment.id, read.input, call.actor);
        } catch (error) {
          throw besideItsStep(error, values, read);
        }
        leaveNotice(call, `${nameOf(client)}: visit complete.`);
        const query = `staffId=${appointment.staffId}&done=${appointment.id}`;
        await call.redirectTo(`/clients/${client.id}/rebook?${query}`);
      },
    });
  }

  private async show(call: Call, sitting: Sitting, form: FormState, aside: Aside = {}): Promise<void> {
    const { salon, appointment, client, service, ruler, today } = sitting;
    const { values, errors } = form;
    const source = await this.sittings.source(sitting, values['basedOnId'] || 'none');
    const adjusted = await this.adjusted.of(this.reader.manager, client.id, today);
    const held = new Set(adjusted?.whole.limits.map(({ zone }) => zone));
    const preview = previewOf(values, source, adjusted, client, ruler);
    const zones = zoneForms(source, adjusted?.zones ?? [], ruler, held, form);
    await renderPage(call, 'complete', {
      heading: `Complete the visit of ${nameOf(client)}`,
      ...aside,
      form,
      id: appointment.id,
      client,
      name: nameOf(client),
      service,
      when: momentText(appointment.startsAt, salon.zone, sitting.spoken),
      units: ruler.units,
      currency: salon.currency,
      sources: await this.sources(sitting),
      from: { values: { from: source?.formula.id ?? 'none' } },
      source: source?.formula,
      zones: zones.filter(({ recorded }) => recorded),
      otherZones: zones.filter(({ recorded }) => !recorded),
      steps: stepForms(values, errors, refusalIn(preview)),
      blankForm: openForm(),
      blankStep: { key: 'n0', place: '', zone: 'New step', open: true },
      limits: limitForms(values, errors),
      preview,
      colour: service.kind === 'colour',
      cautions: CAUTIONS,
      scripts: ['visit-form'],
      heldChoices: [
        { value: '', label: 'not looked' },
        ...HOLD_STATES.map((value) => ({ value, label: value.replace('-', ' ') })),
      ],
      ends: ENDS_OPTIONS,
      keep: `${call.request.principal?.accountId ?? ''}-${appointment.id}`,
      ...VISIT_CHOICES,
    });
  }

  /** What a formula can be started from: the client's own, the newest first, and the house's. */
  private async sources({ client, salon, spoken }: Sitting) {
    const { manager } = this.reader;
    const own = await this.formulas.ofClient(manager, client.id, 12);
    const house = await this.formulas.house(manager, salon.id);
    return [
      ...own.map(({ id, name, cutOn }) => ({
        value: id,
        label: cutOn ? `${name}, ${dayText(cutOn, spoken)}` : name,
      })),
      ...house.map(({ id, name }) => ({ value: id, label: `House formula: ${name}` })),
      { value: 'none', label: 'Nothing: a new shape' },
    ];
  }
}

/** The form's values after one of its own buttons: "up:s2", "drop:n1", "add-step"; unchanged for any other. */
function changed(values: Values, action: string, { ruler }: Sitting): Values {
  const [verb, key = ''] = action.split(':');
  switch (verb) {
    case 'up':
      return withStepMoved(values, key, -1);
    case 'down':
      return withStepMoved(values, key, 1);
    case 'drop':
      return withoutStep(values, key);
    case 'add-step':
      return withNewStep(values, ruler);
    case 'add-limit':
      return withNewLimit(values, ruler);
    default:
      return values;
  }
}

/** The step that is in the way of a drawing, and why. */
function refusalIn(preview: Preview): { readonly step: string; readonly words: string } | undefined {
  return 'refused' in preview && preview.step ? { step: preview.step, words: preview.refused } : undefined;
}

/** What the engine refuses stands beside the step it refuses. */
function besideItsStep(error: unknown, values: Values, { steps }: ReturnType<typeof readVisit>): unknown {
  if (!(error instanceof EngineError) || error.step === undefined) return error;
  const key = keyOfCutStep(steps, error.step);
  if (key === undefined) return error;
  return DomainError.invalid('CUT.STEP', `step.${key}`, stepRefusal(values, steps, key, error.message));
}
