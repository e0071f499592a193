import { Controller, Get, Param, Query } from '@nestjs/common';
import { Clients } from '../clients/index.js';
import { Formulas } from '../cuts/index.js';
import type { ReshapeStage } from '../engine/plan/index.js';
import { ZONES } from '../engine/zones.js';
import { Call, Called, Needs, problemOf, renderPage } from '../http/index.js';
import { type ReshapePath, Reshapes } from '../rebooking/index.js';
import { Reader } from '../store/index.js';
import { dayText } from './days.js';
import { Front, type Setting } from './front.js';
import { fingersText, lengthText } from './lengths.js';
import { told, whyView } from './told.js';
import { nameOf, ZONE_WORDS } from './words.js';

const OWN_OFFERED = 12;
const STAGE_WORDS: Record<ReshapeStage['kind'], string> = { today: 'Today', tidy: 'Tidy', target: 'There' };

/** From the hair on the head to another shape: what can be cut today, what must grow, and until when. */
@Needs('cut.read')
@Controller('clients/:id/reshape')
export class ReshapePages {
  constructor(
    private readonly reader: Reader,
    private readonly front: Front,
    private readonly clients: Clients,
    private readonly formulas: Formulas,
    private readonly reshapes: Reshapes,
  ) {}

  @Get()
  async reshape(@Called() call: Call, @Param('id') id: string, @Query('to') to?: string): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const client = await this.clients.get(id);
    const { path, refused } = to ? await this.path(client.id, to, setting.today) : {};
    await renderPage(call, 'reshape', {
      heading: `Reshape for ${nameOf(client)}`,
      client,
      targets: await this.targets(client.id, setting),
      form: { values: { to: to ?? '' } },
      refused,
      ...(path && pathView(path, setting)),
    });
  }

  /** What cannot be reached is told on the page; who asks for what is not hers gets the usual answer. */
  private async path(
    clientId: string,
    to: string,
    today: string,
  ): Promise<{ readonly path?: ReshapePath; readonly refused?: string }> {
    try {
      return { path: await this.reshapes.path(this.reader.manager, clientId, to, today) };
    } catch (error) {
      const problem = problemOf(error);
      if (problem.status !== 409 && problem.status !== 422) throw error;
      return { refused: problem.detail };
    }
  }

  private async targets(clientId: string, { salon, spoken }: Setting) {
    const { manager } = this.reader;
    const house = await this.formulas.house(manager, salon.id);
    const own = await this.formulas.ofClient(manager, clientId, OWN_OFFERED);
    return [
      ...house.map(({ id, name }) => ({ value: id, label: `House formula: ${name}` })),
      ...own.map(({ id, name, cutOn }) => ({
        value: id,
        label: cutOn ? `${name}, ${dayText(cutOn, spoken)}` : name,
      })),
    ];
  }
}

function pathView({ target, path, why, drawings }: ReshapePath, { ruler, spoken }: Setting) {
  const length = (mm: number) => lengthText(mm, ruler.units);
  const day = (on: string) => dayText(on, spoken);
  return {
    target: target.formula.name,
    words: told(path.words, ruler, spoken),
    today: path.feasibleToday,
    zones: path.zones.map(({ zone, cutMm, missingMm, ready50On, ready90On }) => ({
      zone: ZONE_WORDS[zone],
      takeOff: cutMm >= 0.5 ? length(cutMm) : '',
      fingers: fingersText(cutMm, ruler.fingerWidthMm),
      lacks: missingMm >= 0.5 ? length(missingMm) : '',
      ready50: missingMm > 0 ? day(ready50On) : '',
      ready90: missingMm > 0 ? day(ready90On) : '',
    })),
    stages: path.stages.map((stage, i) => {
      const drawing = drawings[i];
      const taken = ZONES.filter((zone) => (stage.takeOffMm[zone] ?? 0) >= 0.5);
      return {
        name: STAGE_WORDS[stage.kind],
        day: day(stage.on),
        takes: taken
          .map((zone) => `${ZONE_WORDS[zone].toLowerCase()} ${length(stage.takeOffMm[zone] ?? 0)}`)
          .join(', '),
        ...(drawing && ('svg' in drawing ? { svg: drawing.svg } : { notDrawn: drawing.refused })),
      };
    }),
    why: whyView(why, ruler, spoken),
  };
}
