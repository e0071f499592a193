import { Body, Controller, Get, Param, Post, Query } from '@nestjs/common';
import { DomainError, instantAt, isDate, isTime, timeIn } from '../base/index.js';
import { Clients } from '../clients/index.js';
import { Call, Called, leaveNotice, Needs, type Problem, problemOf, renderPage } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { Salons } from '../salon/index.js';
import { CAUTIONS, SafetyRecords, SkinTests } from '../skin-tests/index.js';
import { answerForm, type FormState, openForm, refusedForm, typedValues } from './forms.js';
import { Front, type Setting, staffOptions } from './front.js';
import { GateAnswers } from './gate-answers.js';
import {
  type GateAnswer,
  NOTE_KINDS,
  RESULTS,
  standingView,
  testedLines,
  testView,
} from './skin-tests-view.js';
import { nameOf } from './words.js';

/** Whose page it is. */
type Subject = Setting & { readonly id: string; readonly name: string };

/** Skin tests of a client and all else that opens or closes the colour gate. */
@Needs('skin-test.write')
@Controller('clients/:id/skin-tests')
export class SkinTestsPages {
  constructor(
    private readonly front: Front,
    private readonly salons: Salons,
    private readonly clients: Clients,
    private readonly skinTests: SkinTests,
    private readonly safety: SafetyRecords,
    private readonly gate: GateAnswers,
  ) {}

  @Needs('skin-test.read')
  @Get()
  async list(@Called() call: Call, @Param('id') id: string, @Query() query: unknown): Promise<void> {
    const subject = await this.subject(call.principal, id);
    const { salon, spoken } = subject;
    const standing = await this.skinTests.standingFor(id, call.actor);
    const { form, answer } = await this.ask(subject, typedValues(query), testedLines(standing.tests));
    await this.show(call, 'skin-tests', subject, {
      heading: `Skin tests of ${subject.name}`,
      ...standingView(standing, salon, await this.salons.staff(salon.id), spoken),
      form,
      answer,
      validDays: salon.skinTestValidDays,
      owner: call.actor.role === 'owner',
    });
  }

  @Get('new')
  async add(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const subject = await this.subject(call.principal, id);
    const [latest] = await this.skinTests.ofClient(id);
    const values = {
      productLine: latest?.productLine ?? '',
      place: latest?.place ?? '',
      date: '',
      time: '',
      appliedById: subject.me?.id ?? '',
      makerValidDays: latest?.makerValidDays ? String(latest.makerValidDays) : '',
    };
    await this.showNew(call, subject, openForm(values));
  }

  @Post('new')
  async added(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const subject = await this.subject(call.principal, id);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form, problem) => this.showNew(call, subject, form, problem),
      work: async () => {
        const test = await this.skinTests.record({ ...values, clientId: id }, call.actor);
        const { readable } = testView(test, subject.salon, [], subject.spoken);
        const words = `The skin test of ${test.productLine} is on record. It can be read clear from ${readable}.`;
        await this.done(call, id, words);
      },
    });
  }

  @Get(':testId/reading')
  async reading(
    @Called() call: Call,
    @Param('id') id: string,
    @Param('testId') testId: string,
  ): Promise<void> {
    const subject = await this.subject(call.principal, id);
    const test = await this.test(id, testId);
    const values = {
      result: test.result === 'clear' ? 'reacted' : '',
      seen: '',
      date: '',
      time: '',
      expectedVersion: String(test.version),
    };
    await this.showReading(call, subject, testId, openForm(values));
  }

  @Post(':testId/reading')
  async read(
    @Called() call: Call,
    @Param('id') id: string,
    @Param('testId') testId: string,
    @Body() body: unknown,
  ): Promise<void> {
    const subject = await this.subject(call.principal, id);
    await this.test(id, testId);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.showReading(call, subject, testId, form),
      work: async () => {
        const { productLine, result } = await this.skinTests.read(testId, values, call.actor);
        const then = result === 'reacted' ? ' No colour. Send the client for medical advice.' : '';
        await this.done(call, id, `The skin test of ${productLine} is read: ${result}.${then}`);
      },
    });
  }

  @Get('note')
  async note(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.showNote(call, await this.subject(call.principal, id), openForm({ kind: '', told: '' }));
  }

  @Post('note')
  async noted(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const subject = await this.subject(call.principal, id);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.showNote(call, subject, form),
      work: async () => {
        await this.safety.note(id, values, call.actor);
        await this.done(call, id, 'The safety note is on record. From now on it bars colour.');
      },
    });
  }

  @Post('scalp-settled')
  async settled(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.safety.scalpSettled(id, call.actor);
    await this.done(call, id, 'The scalp is on record as settled. Look again before any colour.');
  }

  @Get('clearance')
  async clearance(@Called() call: Call, @Param('id') id: string): Promise<void> {
    requireOwner(call.actor);
    const form = openForm({ documentedOn: '', issuedBy: '', says: '' });
    await this.showClearance(call, await this.subject(call.principal, id), form);
  }

  @Post('clearance')
  async cleared(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const subject = await this.subject(call.principal, id);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.showClearance(call, subject, form),
      work: async () => {
        await this.safety.clear(id, values, call.actor);
        const words =
          'The medical clearance is on record. Keep within what it says; a new skin test is needed.';
        await this.done(call, id, words);
      },
    });
  }

  /** The gate's question as it stands in the address, and its answer once a line was named. */
  private async ask(
    { id, salon, now, today }: Subject,
    typed: Readonly<Record<string, string>>,
    lines: readonly string[],
  ): Promise<{ readonly form: FormState; readonly answer: GateAnswer | undefined }> {
    const { productLine, date = today, time = timeIn(salon.zone, now) } = typed;
    const values = { productLine: productLine ?? lines[0] ?? '', date, time };
    const form = openForm(values);
    const line = values.productLine.trim();
    if (productLine === undefined || line === '') return { form, answer: undefined };
    try {
      requireWhen(date, time);
      const isNow = date === today && time === timeIn(salon.zone, now);
      const at = isNow ? now : instantAt(salon.zone, date, time);
      return { form, answer: await this.gate.of(id, salon, { productLine: line, at, now }) };
    } catch (error) {
      const problem = problemOf(error);
      if (problem.status !== 422) throw error;
      return { form: refusedForm(values, problem), answer: undefined };
    }
  }

  private async subject(principal: Principal, id: string): Promise<Subject> {
    const setting = await this.front.setting(principal);
    return { ...setting, id, name: nameOf(await this.clients.get(id)) };
  }

  /** A test of this very client. */
  private async test(clientId: string, testId: string) {
    const test = (await this.skinTests.ofClient(clientId)).find(({ id }) => id === testId);
    if (!test) throw DomainError.notFound('SKIN_TEST.NOT_FOUND', 'skin test');
    return test;
  }

  private async done(call: Call, id: string, words: string): Promise<void> {
    leaveNotice(call, words);
    await call.redirectTo(`/clients/${id}/skin-tests`);
  }

  private async showNew(call: Call, subject: Subject, form: FormState, problem?: Problem): Promise<void> {
    const lines = testedLines(await this.skinTests.ofClient(subject.id));
    await this.show(call, 'skin-tests-new', subject, {
      heading: `Apply a skin test to ${subject.name}`,
      form,
      refused: problem?.code.startsWith('SKIN_TEST.') && problem.fields.length === 0,
      lines,
      staff: staffOptions((await this.salons.staff(subject.salon.id)).filter(({ active }) => active)),
      validDays: subject.salon.skinTestValidDays,
    });
  }

  private async showReading(call: Call, subject: Subject, testId: string, form: FormState): Promise<void> {
    const test = await this.test(subject.id, testId);
    const staff = await this.salons.staff(subject.salon.id);
    await this.show(call, 'skin-tests-reading', subject, {
      heading: `Read the skin test of ${subject.name}`,
      form,
      test: testView(test, subject.salon, staff, subject.spoken),
      results: RESULTS.filter(({ value }) => value === 'reacted' || test.result !== 'clear'),
    });
  }

  private async showNote(call: Call, subject: Subject, form: FormState): Promise<void> {
    await this.show(call, 'skin-tests-note', subject, {
      heading: `Safety note on ${subject.name}`,
      form,
      kinds: NOTE_KINDS,
    });
  }

  private async showClearance(call: Call, subject: Subject, form: FormState): Promise<void> {
    await this.show(call, 'skin-tests-clearance', subject, {
      heading: `Medical clearance of ${subject.name}`,
      form,
    });
  }

  private async show(
    call: Call,
    page: string,
    { id, name }: Subject,
    data: { readonly heading: string; readonly [key: string]: unknown },
  ): Promise<void> {
    await renderPage(call, page, { cautions: CAUTIONS, ...data, id, name, chairside: true });
  }
}

function requireOwner({ role }: Actor): void {
  if (role === 'owner') return;
  throw new DomainError(
    'forbidden',
    'SKIN_TEST.OWNER_ONLY',
    'Only the owner may record a medical clearance. Please ask the owner to see the document.',
  );
}

function requireWhen(date: string, time: string): void {
  if (!isDate(date)) throw DomainError.invalid('GATE.DATE', 'date', 'Date: write a real date as YYYY-MM-DD.');
  if (!isTime(time))
    throw DomainError.invalid('GATE.TIME', 'time', 'Time: write it as HH:MM by the 24-hour clock.');
}
