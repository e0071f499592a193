import { Body, Controller, HttpCode, Param, Post } from '@nestjs/common';
import { GrowthAdjustedFormulas } from '../cuts/index.js';
import { Call, Called, Needs, Who } from '../http/index.js';
import type { Principal } from '../identity/index.js';
import { Reader } from '../store/index.js';
import { typedValues } from './forms.js';
import { VisitDrafts } from './visit-drafts.js';
import { previewOf } from './visit-preview.js';
import { VisitSittings } from './visit-sittings.js';

/** What the visit's form asks while it is being filled: the drawing of what stands in it, and to keep it. */
@Needs('cut.write')
@Controller('appointments/:id/complete')
export class VisitLivePages {
  constructor(
    private readonly reader: Reader,
    private readonly sittings: VisitSittings,
    private readonly adjusted: GrowthAdjustedFormulas,
    private readonly drafts: VisitDrafts,
  ) {}

  @HttpCode(200)
  @Post('drawing')
  async drawing(@Who() principal: Principal, @Param('id') id: string, @Body() body: unknown) {
    const sitting = await this.sittings.of(principal, id);
    const values = typedValues(body);
    const source = await this.sittings.source(sitting, values['basedOnId'] || 'none');
    const now = await this.adjusted.of(this.reader.manager, sitting.client.id, sitting.today);
    return previewOf(values, source, now, sitting.client, sitting.ruler);
  }

  @Post('draft')
  async draft(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const sitting = await this.sittings.of(call.principal, id);
    const saved = await this.drafts.save(sitting, typedValues(body), call.actor);
    await call.reply.status('conflict' in saved ? 409 : 200).send(saved);
  }
}
