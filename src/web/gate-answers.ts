import { Injectable } from '@nestjs/common';
import { DomainError } from '../base/index.js';
import type { Salon } from '../salon/index.js';
import { CAUTIONS, ColourGate } from '../skin-tests/index.js';
import { Reader } from '../store/index.js';
import { firstText, type GateAnswer } from './skin-tests-view.js';

/** Asks the colour gate for a page to show; whatever books or closes a colour asks it again by itself. */
@Injectable()
export class GateAnswers {
  constructor(
    private readonly reader: Reader,
    private readonly gate: ColourGate,
  ) {}

  /** Throws CLIENT.NOT_FOUND. */
  async of(
    clientId: string,
    salon: Salon,
    question: { readonly productLine: string; readonly at: number; readonly now: number },
  ): Promise<GateAnswer> {
    const { productLine, at, now } = question;
    try {
      const { productLines, cautions } = await this.gate.check(this.reader.manager, {
        clientId,
        salonId: salon.id,
        at,
        now,
        ...(productLine !== '' && { productLine }),
      });
      return {
        refused: false,
        words: `Nothing on record stands against it: a skin test of ${productLines.join(', ')} was read clear and counts then.`,
        first: '',
        more: cautions.filter((caution) => !CAUTIONS.includes(caution)),
      };
    } catch (error) {
      if (!(error instanceof DomainError) || error.kind !== 'refused') throw error;
      return {
        refused: true,
        words: error.message,
        first: firstText(error.details['firstAt'], salon.zone),
        more: [],
      };
    }
  }
}
