import { Body, Controller, Get, Param, Post, Query, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { addDays, dateIn, dateInWords, timeIn } from '../base/index.js';
import { By, leaveNotice, Needs, renderPage, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
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
  async list(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Query('until') until?: string,
  ): Promise<void> {
    const { today } = await this.front.setting(principal);
    const values = { until: until || addDays(today, USUAL_AHEAD_DAYS) };
    await answerForm({
      reply,
      values,
      again: (form) => this.show(request, reply, principal, form),
      work: () => this.show(request, reply, principal, openForm(values)),
    });
  }

  @Post('runs')
  async start(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const values = typedValues(body);
    await answerForm({
      reply,
      values,
      again: (form) => this.show(request, reply, principal, form),
      work: async () => {
        const { id } = await this.runs.start({ ...values, salonId: salon.id }, actor);
        await reply.redirect(`/messages/runs/${id}`, 303);
      },
    });
  }

  @Get('runs/:id')
  async progress(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Param('id') id: string,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const run = runView(await this.runs.progress(id), salon);
    if (run.running) void reply.header('refresh', `${LOOK_AGAIN_SECONDS}`);
    await renderPage(request, reply, 'message-run', { heading: 'Invitations under way', run });
  }

  @Post('runs/:id/stop')
  async stop(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @By() actor: Actor,
    @Param('id') id: string,
  ): Promise<void> {
    await this.runs.stop(id, actor);
    leaveNotice(request, reply, 'Stopped. What was on its way that very moment may still have gone.');
    await reply.redirect(`/messages/runs/${id}`, 303);
  }

  @Needs('salon.write')
  @Get('rules')
  async showRules(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const { reminderHours, quietFrom, quietUntil, nudgeMost, nudgeWeeks } = await this.rules.get(salon.id);
    const values = {
      reminderHours: reminderHours.join(', '),
      quietFrom,
      quietUntil,
      nudgeMost: `${nudgeMost}`,
      nudgeWeeks: `${nudgeWeeks}`,
    };
    await this.rulesForm(request, reply, openForm(values));
  }

  @Needs('salon.write')
  @Post('rules')
  async saveRules(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const values = typedValues(body);
    await answerForm({
      reply,
      values,
      again: (form) => this.rulesForm(request, reply, form),
      work: async () => {
        await this.rules.save(salon.id, values, actor);
        leaveNotice(request, reply, 'Saved. What is owed already keeps its time.');
        await reply.redirect('/messages/rules', 303);
      },
    });
  }

  private async rulesForm(request: FastifyRequest, reply: FastifyReply, form: FormState): Promise<void> {
    await renderPage(request, reply, 'message-rules', { heading: 'When messages go', form });
  }

  private async show(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    form: FormState,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const asked = { salonId: salon.id, until: form.values['until'] ?? '' };
    const count = form.problems.length > 0 ? null : await this.runs.wouldReach(asked);
    const runs = await this.runs.list(salon.id);
    await renderPage(request, reply, 'message-runs', {
      heading: 'Invite clients whose shape comes due',
      form,
      count,
      known: count !== null,
      runs: runs.map((run) => runView(run, salon)),
    });
  }
}
