import { Body, Controller, Get, Param, Post, Query } from '@nestjs/common';
import { addDays, dateIn, dateInWords, timeIn } from '../base/index.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { type RunProgress, Runs, SalonRules } from '../reminders/index.js';
import type { Salon } from '../salon/index.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front } from './front.js';

const USUAL_AHEAD_DAYS = 7;
const LOOK_AGAIN_SECONDS = 2;

function runView({ id, startedAt, stoppedAt, total, counts, over }: RunProgress, salon: Salon) {
  const { zone, locale } = salon;
  return {
    id,
    started: `${dateInWords(dateIn(zone, startedAt), locale)}, ${timeIn(zone, startedAt)}`,
    total,
    done: total - counts.owed,
    counts,
    over,
    running: !over,
    stopped: stoppedAt !== null,
  };
}

/** Invitations to many: start, watch, stop. Works without a script: the page asks again by itself. */
@Needs('message.write')
@Controller('messages')
export class MessageRunsPages {
  constructor(
    private readonly front: Front,
    private readonly runs: Runs,
    private readonly rules: SalonRules,
  ) {}

  @Get('runs')
  async list(@Called() call: Call, @Query('until') until?: string): Promise<void> {
    const { today } = await this.front.setting(call.principal);
    const values = { until: until || addDays(today, USUAL_AHEAD_DAYS) };
    await answerForm({
      call,
      values,
      again: (form) => this.show(call, form),
      work: () => this.show(call, openForm(values)),
    });
  }

  @Post('runs')
  async start(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.show(call, form),
      work: async () => {
        const { id } = await this.runs.start(salon.id, values, call.actor);
        await call.redirectTo(`/messages/runs/${id}`);
      },
    });
  }

  @Get('runs/:id')
  async progress(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const run = runView(await this.runs.progress(id), salon);
    if (run.running) void call.reply.header('refresh', `${LOOK_AGAIN_SECONDS}`);
    await renderPage(call, 'message-run', { heading: 'Invitations under way', run });
  }

  @Post('runs/:id/stop')
  async stop(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.runs.stop(id, call.actor);
    leaveNotice(call, 'Stopped. What was on its way that very moment may still have gone.');
    await call.redirectTo(`/messages/runs/${id}`);
  }

  @Needs('salon.write')
  @Get('rules')
  async showRules(@Called() call: Call): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const { reminderHours, quietFrom, quietUntil, nudgeMost, nudgeWeeks } = await this.rules.get(salon.id);
    const values = {
      reminderHours: reminderHours.join(', '),
      quietFrom,
      quietUntil,
      nudgeMost: `${nudgeMost}`,
      nudgeWeeks: `${nudgeWeeks}`,
    };
    await this.rulesForm(call, openForm(values));
  }

  @Needs('salon.write')
  @Post('rules')
  async saveRules(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.rulesForm(call, form),
      work: async () => {
        await this.rules.save(salon.id, values, call.actor);
        leaveNotice(call, 'Saved. What is owed already keeps its time.');
        await call.redirectTo('/messages/rules');
      },
    });
  }

  private async rulesForm(call: Call, form: FormState): Promise<void> {
    await renderPage(call, 'message-rules', { heading: 'When messages go', form });
  }

  private async show(call: Call, form: FormState): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const asked = { until: form.values['until'] ?? '' };
    const count = form.problems.length > 0 ? null : await this.runs.wouldReach(salon.id, asked);
    const runs = await this.runs.list(salon.id);
    await renderPage(call, 'message-runs', {
      heading: 'Invite clients whose shape comes due',
      form,
      count,
      known: count !== null,
      runs: runs.map((run) => runView(run, salon)),
    });
  }
}
