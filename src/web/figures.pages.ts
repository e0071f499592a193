import { Body, Controller, Get, Param, Post, Query, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { addDays, DomainError } from '../base/index.js';
import { By, leaveNotice, Needs, renderPage, Who } from '../http/index.js';
import { type Actor, type Principal, permits } from '../identity/index.js';
import {
  CUT_WORDS,
  CUTS_BY,
  type CutBy,
  FIXED_SPAN_PARTS,
  type FigurePart,
  Figures,
  type FigureView,
  Forecasts,
  figureCsv,
  HoldOuts,
  UNCUT_PARTS,
  figureView as viewOf,
} from '../reports/index.js';
import { figureView } from './figures.view.js';
import { Front, type Setting } from './front.js';
import { optionsOf } from './words.js';

const SPANS = optionsOf({
  '92': 'three months',
  '183': 'half a year',
  '366': 'a year',
  '1100': 'three years',
});
const USUAL_SPAN = '366';
const USUAL_CUT = 'stylist';

const PART_WORDS: Readonly<Record<FigurePart, string>> = {
  'coming-back': 'Coming back',
  windows: 'Windows',
  cohorts: 'Clients kept',
  attendance: 'Attendance',
  use: 'Time used',
  value: 'Value',
  outlook: 'Outlook',
};

const PERCENTS = optionsOf({
  '0': 'nobody',
  '5': '5 %',
  '10': '10 %',
  '20': '20 %',
  '30': '30 %',
  '50': '50 %',
});

type Asked = { readonly days?: string; readonly by?: string };

@Controller('figures')
export class FiguresPages {
  constructor(
    private readonly front: Front,
    private readonly figures: Figures,
    private readonly holdOuts: HoldOuts,
    private readonly forecasts: Forecasts,
  ) {}

  @Needs('report.open')
  @Get()
  async first(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Query() asked: Asked,
  ): Promise<void> {
    const setting = await this.front.setting(principal);
    const view = viewOf(principal, setting.me?.id ?? null);
    const [part] = view.parts;
    if (part) return await this.show(request, reply, setting, view, part, asked, principal);
    await renderPage(request, reply, 'figures', { heading: 'Figures', figures: [], parts: [], nobody: true });
  }

  @Needs('report.open')
  @Get(':part')
  async part(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Param('part') name: string,
    @Query() asked: Asked,
  ): Promise<void> {
    const setting = await this.front.setting(principal);
    const view = viewOf(principal, setting.me?.id ?? null);
    await this.show(request, reply, setting, view, partOf(view, name), asked, principal);
  }

  @Needs('report.open')
  @Get(':part/:file')
  async file(
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Param('part') name: string,
    @Param('file') file: string,
    @Query() asked: Asked,
  ): Promise<void> {
    const setting = await this.front.setting(principal);
    const view = viewOf(principal, setting.me?.id ?? null);
    const figures = await this.compute(setting, view, partOf(view, name), asked);
    const figure = figures.find(({ key }) => `${key}.csv` === file);
    if (!figure) throw DomainError.notFound('REPORT.NOT_FOUND', 'table');
    await reply
      .header('content-type', 'text/csv; charset=utf-8')
      .header('content-disposition', `attachment; filename="${figure.key}-${setting.today}.csv"`)
      .header('cache-control', 'no-store')
      .send(figureCsv(figure, setting.salon.currency));
  }

  @Needs('report.write')
  @Post('hold-out')
  async holdOut(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: { readonly percent?: string; readonly expectedVersion?: string } | undefined,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const { percent, expectedVersion } = body ?? {};
    const set = await this.holdOuts.set(
      salon.id,
      {
        percent: percent === undefined || percent === '' ? undefined : Number(percent),
        ...(expectedVersion && { expectedVersion: Number(expectedVersion) }),
      },
      actor,
    );
    leaveNotice(
      request,
      reply,
      set.percent === 0
        ? 'Nobody is left without nudges any more.'
        : `From now on ${set.percent} % of clients are left without nudges.`,
    );
    await reply.redirect('/figures/attendance#nudges', 303);
  }

  @Needs('report.write')
  @Post('forecast')
  async forecast(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const made = await this.forecasts.keepUp(salon);
    leaveNotice(
      request,
      reply,
      made
        ? 'This week’s forecast is made.'
        : 'No forecast was made: this week has one already, or nobody has come yet.',
    );
    await reply.redirect('/figures/outlook', 303);
  }

  private async compute(setting: Setting, view: FigureView, part: FigurePart, asked: Asked) {
    const { salon } = setting;
    const { by, fromDate } = choices(setting, asked);
    return await this.figures.part({ salon, part, by, fromDate, staffId: view.staffId });
  }

  private async show(
    request: FastifyRequest,
    reply: FastifyReply,
    setting: Setting,
    view: FigureView,
    part: FigurePart,
    asked: Asked,
    principal: Principal,
  ): Promise<void> {
    const { salon } = setting;
    const figures = await this.compute(setting, view, part, asked);
    const { days, by, fromDate } = choices(setting, asked);
    const cuts = CUTS_BY.filter((cut) => view.staffId === null || (cut !== 'stylist' && cut !== 'salon'));
    const isWhole = view.staffId === null;
    const holdOut = part === 'attendance' && isWhole ? await this.holdOuts.of(salon.id) : undefined;
    await renderPage(request, reply, 'figures', {
      heading: `Figures: ${PART_WORDS[part]}`,
      title: PART_WORDS[part],
      parts: view.parts.map((name) => ({
        href: `/figures/${name}?days=${days}&by=${by}`,
        label: PART_WORDS[name],
        here: name === part,
      })),
      part,
      figures: figures.map((figure) => figureView(figure, salon)),
      query: `days=${days}&by=${by}`,
      own: !isWhole,
      ownName: setting.me?.name,
      form: { values: { days, by, percent: String(holdOut?.percent ?? 0) } },
      spans: FIXED_SPAN_PARTS.includes(part) ? undefined : SPANS,
      cuts: UNCUT_PARTS.includes(part)
        ? undefined
        : cuts.map((cut) => ({ value: cut, label: CUT_WORDS[cut].toLowerCase() })),
      fromDate,
      mayForecast: part === 'outlook' && permits(principal, 'report.write'),
      maySetHoldOut: part === 'attendance' && isWhole,
      holdOutVersion: holdOut?.version,
      percents: PERCENTS,
    });
  }
}

/** Throws REPORT.NOT_FOUND for a part that there is not, or not for this person. */
function partOf({ parts }: FigureView, name: string): FigurePart {
  const part = parts.find((candidate) => candidate === name);
  if (!part) throw DomainError.notFound('REPORT.NOT_FOUND', 'page of figures');
  return part;
}

/** What was asked for, or the usual where it is nothing one can ask for. Whole months, so that none is cut in two. */
function choices({ today }: Setting, asked: Asked): { days: string; by: CutBy; fromDate: string } {
  const days = SPANS.find(({ value }) => value === asked.days)?.value ?? USUAL_SPAN;
  const by = CUTS_BY.find((cut) => cut === asked.by) ?? USUAL_CUT;
  return { days, by, fromDate: `${addDays(today, -Number(days)).slice(0, 7)}-01` };
}
