import { Controller, Get, Param, Query } from '@nestjs/common';
import { DomainError } from '../base/index.js';
import { Clients } from '../clients/index.js';
import { GrowthAdjustedFormulas } from '../cuts/index.js';
import { Call, Called, Needs } from '../http/index.js';
import { Reader } from '../store/index.js';
import { CardDrawings, shownWords } from './card-drawings.js';
import { dayAsked } from './days.js';
import { Front } from './front.js';

/** The figures of a card on any day, for the slider: drawings as a page's script puts them in place. */
@Needs('cut.read')
@Controller('clients/:id/shape')
export class ShapePages {
  constructor(
    private readonly reader: Reader,
    private readonly front: Front,
    private readonly clients: Clients,
    private readonly adjusted: GrowthAdjustedFormulas,
    private readonly drawings: CardDrawings,
  ) {}

  @Get()
  async figures(@Called() call: Call, @Param('id') id: string, @Query('on') asked?: string): Promise<void> {
    const { spoken } = await this.front.setting(call.principal);
    const client = await this.clients.get(id);
    const adjusted = await this.adjusted.of(this.reader.manager, client.id, dayAsked(asked, spoken));
    if (!adjusted) throw DomainError.notFound('CUT.NOT_FOUND', 'cut formula');
    const shown = this.drawings.figures(adjusted, 'today', spoken);
    await call.reply
      .header('cache-control', 'no-store')
      .send({ ...shown, words: shownWords(adjusted, 'today', spoken) });
  }
}
