import {
  type ArgumentsHost,
  Body,
  Catch,
  Controller,
  Get,
  Injectable,
  Param,
  Post,
  Query,
  UploadedFile,
  UseFilters,
} from '@nestjs/common';
import type { MultipartFileStream } from '@nestjs/platform-fastify/multipart';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { DomainError } from '../base/index.js';
import { type ImportRun, Imports, OUTCOMES, type Outcome } from '../exchange/index.js';
import {
  Call,
  Called,
  ErrorFilter,
  IMPORT_FIELD,
  leaveNotice,
  Needs,
  problemOf,
  renderPage,
  sentFile,
  TakesImport,
} from '../http/index.js';
import type { Actor } from '../identity/index.js';
import { answerForm, type FormState, openForm, refusedForm, typedValues } from './forms.js';
import { Front, serviceOptions, staffOptions } from './front.js';
import {
  boxOf,
  KIND_OPTIONS,
  outcomeWords,
  progressView,
  settingsOf,
  settingsValues,
  setUpView,
} from './imports.view.js';

const LINES = 100;
const LOOK_AGAIN_SECONDS = 4;

/** Shows the list of imports with the form that hands a file in; after a refusal too, which comes before any handler. */
@Injectable()
export class ImportList {
  constructor(
    private readonly imports: Imports,
    private readonly front: Front,
  ) {}

  async show(call: Call, form: FormState): Promise<void> {
    const { principal } = call.request;
    if (!principal) throw new DomainError('forbidden', 'SIGN_IN.NEEDED', 'Please sign in first.');
    const { salon } = await this.front.setting(principal);
    const runs = await this.imports.list(salon.id, principal);
    await renderPage(call, 'imports', {
      heading: 'Imports',
      form,
      kinds: KIND_OPTIONS,
      runs: runs.map((run) => progressView(run, this.imports.isAbandoned(run))),
    });
  }
}

/** A refused file shows its form again. All else is left to the error page. */
@Catch()
@Injectable()
export class ImportFormFilter extends ErrorFilter {
  constructor(private readonly list: ImportList) {
    super();
  }

  override async catch(error: unknown, host: ArgumentsHost): Promise<void> {
    const problem = problemOf(error);
    if (problem.status !== 422 && problem.status !== 409) return await super.catch(error, host);
    const http = host.switchToHttp();
    const request = http.getRequest<FastifyRequest>();
    const reply = http.getResponse<FastifyReply>();
    try {
      const values = { kind: '', file: '', ...typedValues(request.body) };
      const call = new Call(request, reply).status(problem.status);
      await this.list.show(call, refusedForm(values, problem));
    } catch (second) {
      await super.catch(second, host);
    }
  }
}

/** Taking over what other records hold: hand a file in, set it up, check it, import it. The owner's pages. */
@Needs('import.write')
@Controller('imports')
export class ImportsPages {
  constructor(
    private readonly imports: Imports,
    private readonly front: Front,
    private readonly listing: ImportList,
  ) {}

  @Get()
  async list(@Called() call: Call): Promise<void> {
    await this.listing.show(call, openForm({ kind: 'clients', file: '' }));
  }

  @Post()
  @TakesImport()
  @UseFilters(ImportFormFilter)
  async upload(
    @Called() call: Call,
    @Body() body: unknown,
    @UploadedFile() file?: MultipartFileStream,
  ): Promise<void> {
    const { [IMPORT_FIELD]: _, ...given } = typedValues(body);
    const { salon } = await this.front.setting(call.principal);
    const run = await this.imports.upload(salon.id, given, sentFile(file), call.actor);
    leaveNotice(call, 'The file is here. Nothing is imported yet: see whether it was read right.');
    await call.redirectTo(`/imports/${run.id}`);
  }

  @Get(':id')
  async page(
    @Called() call: Call,
    @Param('id') id: string,
    @Query() query: Record<string, unknown>,
  ): Promise<void> {
    const run = await this.imports.get(id, call.actor);
    await this.show(call, { actor: call.actor, run, query });
  }

  @Post(':id/settings')
  async setUp(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const values = typedValues(body);
    const run = await this.imports.get(id, call.actor);
    await answerForm({
      call,
      values: { ...settingsValues(run), ...values },
      rename: boxOf,
      work: async () => {
        await this.imports.setUp(id, settingsOf(values), call.actor);
        if (values['step'] === 'check') await this.imports.check(id, call.actor);
        else leaveNotice(call, 'The file is read anew.');
        await call.redirectTo(values['step'] === 'check' ? `/imports/${id}#progress` : `/imports/${id}`);
      },
      again: (form) => this.show(call, { actor: call.actor, run, form }),
    });
  }

  @Post(':id/run')
  async run(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.imports.run(id, call.actor);
    await call.redirectTo(`/imports/${id}`);
  }

  @Post(':id/stop')
  async stop(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.imports.stop(id, call.actor);
    leaveNotice(call, 'It is stopped. What was imported by then stays.');
    await call.redirectTo(`/imports/${id}`);
  }

  @Post(':id/remove')
  async remove(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.imports.remove(id, call.actor);
    leaveNotice(call, 'The file and its report are gone. What was imported stays.');
    await call.redirectTo('/imports');
  }

  @Get(':id/refused.csv')
  async refused(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const csv = await this.imports.refused(id, call.actor);
    await call.reply
      .header('content-type', 'text/csv; charset=utf-8')
      .header('content-disposition', 'attachment; filename="refused.csv"')
      .send(csv);
  }

  private async show(
    call: Call,
    given: {
      actor: Actor;
      run: ImportRun;
      form?: FormState;
      query?: Record<string, unknown>;
    },
  ): Promise<void> {
    const { actor, run, query = {} } = given;
    const progress = progressView(run, this.imports.isAbandoned(run));
    const canSetUp = !progress.underWay && run.pass !== 'run' && run.pieces > 0;
    const [staff, services] = await Promise.all([
      this.front.stylists(run.salonId),
      this.front.services(run.salonId),
    ]);
    const setUp = canSetUp
      ? setUpView(run, await this.imports.preview(run), {
          form: given.form ?? openForm(settingsValues(run)),
          staff: staffOptions(staff),
          services: serviceOptions(services),
        })
      : null;
    const outcome = OUTCOMES.find((one) => one === query['outcome']);
    // Whoever presses a button on this page has its form; only the page that waits looks again by itself.
    if (progress.underWay) void call.reply.header('refresh', `${LOOK_AGAIN_SECONDS}; url=/imports/${run.id}`);
    await renderPage(call, 'import', {
      heading: `Import of ${progress.kind.toLowerCase()}`,
      progress,
      setUp,
      imports: true,
      lacks: this.imports.lacks(run),
      report: await this.reportOf(run, actor, outcome, Number(query['from'])),
    });
  }

  private async reportOf(run: ImportRun, actor: Actor, outcome: Outcome | undefined, place: number) {
    const from = Number.isInteger(place) && place >= 0 ? Math.min(place, run.survey.rows) : 0;
    const wish = { ...(outcome && { outcome }), from, limit: LINES };
    const { lines, next } = await this.imports.report(run.id, wish, actor);
    const address = (some: Record<string, string>) =>
      `/imports/${run.id}?${new URLSearchParams(some)}#report`;
    const only: Record<string, string> = outcome ? { outcome } : {};
    return {
      lines: lines.map((line) => ({ ...line, outcomeWords: outcomeWords(line.outcome) })),
      next: next === null ? '' : address({ ...only, from: String(next) }),
      first: from > 0 ? address(only) : '',
      shown: outcome ? outcomeWords(outcome) : '',
      all: address({}),
    };
  }
}
