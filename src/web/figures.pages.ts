import { Body, Controller, Get, Param, Post, Query } from '@nestjs/common';
import { addDays, DomainError } from '../base/index.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { permits } from '../identity/index.js';
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
  async first(@Called() call: Call, @Query() asked: Asked): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const view = viewOf(call.principal, setting.me?.id ?? null);
    const [part] = view.parts;
    if (part) return await this.show(call, setting, view, part, asked);
    await renderPage(call, 'figures', { heading: 'Figures', figures: [], parts: [], nobody: true });
  }

  @Needs('report.open')
  @Get(':part')
  async part(@Called() call: Call, @Param('part') name: string, @Query() asked: Asked): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const view = viewOf(call.principal, setting.me?.id ?? null);
    await this.show(call, setting, view, partOf(view, name), asked);
  }

  @Needs('report.open')
  @Get(':part/:file')
  async file(
    @Called() call: Call,
    @Param('part') name: string,
    @Param('file') file: string,
    @Query() asked: Asked,
  ): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const view = viewOf(call.principal, setting.me?.id ?? null);
    const figures = await this.compute(setting, view, partOf(view, name), asked);
    const figure = figures.find(({ key }) => `${key}.csv` === file);
    if (!figure) throw DomainError.notFound('REPORT.NOT_FOUND', 'table');
    await call.reply
      .header('content-type', 'text/csv; charset=utf-8')
      .header('content-disposition', `attachment; filename="${figure.key}-${setting.today}.csv"`)
      .header('cache-control', 'no-store')
      .send(figureCsv(figure, setting.salon.currency));
  }

  @Needs('report.write')
  @Post('hold-out')
  async holdOut(
    @Called() call: Call,
    @Body() body: { readonly percent?: string; readonly expectedVersion?: string } | undefined,
  ): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const { percent, expectedVersion } = body ?? {};
    const set = await this.holdOuts.set(
      salon.id,
      {
        percent: percent === undefined || percent === '' ? undefined : Number(percent),
        ...(expectedVersion && { expectedVersion: Number(expectedVersion) }),
      },
      call.actor,
    );
    leaveNotice(
      call,
      set.percent === 0
        ? 'Nobody is left without nudges any more.'
        : `From now on ${set.percent} % of clients are left without nudges.`,
    );
    await call.redirectTo('/figures/attendance#nudges');
  }

  @Needs('report.write')
  @Post('forecast')
  async forecast(@Called() call: Call): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const made = await this.forecasts.keepUp(salon);
    leaveNotice(
      call,
      made
        ? 'This week’s forecast is made.'
        : 'No forecast was made: this week has one already, or nobody has come yet.',
    );
    await call.redirectTo('/figures/outlook');
  }

  private async compute(setting: Setting, view: FigureView, part: FigurePart, asked: Asked) {
    const { salon } = setting;
    const { by, fromDate } = choices(setting, asked);
    return await this.figures.part({ salon, part, by, fromDate, staffId: view.staffId });
  }

  private async show(
    call: Call,
    setting: Setting,
    view: FigureView,
    part: FigurePart,
    asked: Asked,
  ): Promise<void> {
    const { salon } = setting;
    const figures = await this.compute(setting, view, part, asked);
    const { days, by, fromDate } = choices(setting, asked);
    const cuts = CUTS_BY.filter((cut) => view.staffId === null || (cut !== 'stylist' && cut !== 'salon'));
    const isWhole = view.staffId === null;
    const holdOut = part === 'attendance' && isWhole ? await this.holdOuts.of(salon.id) : undefined;
    // What draws charts is large, and most who work here never look at one.
    const { figureView } = await import('./figures.view.js');
    await renderPage(call, 'figures', {
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
      mayForecast: part === 'outlook' && permits(call.principal, 'report.write'),
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
