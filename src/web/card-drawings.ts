import { Injectable } from '@nestjs/common';
import { addDays, daysBetween } from '../base/index.js';
import { Drawings, type DrawnMoment, type GrowthAdjusted, type Pictures } from '../cuts/index.js';
import type { View } from '../engine/shape/index.js';
import { dayText, type Spoken, shortDay } from './days.js';

export const CARD_VIEWS = ['right', 'back'] as const satisfies readonly View[];
const CAPTIONS: Partial<Record<View, string>> = { right: 'right side', back: 'back' };
const WEEKS_AHEAD = [3, 5, 8];
/** How far past today the slider reaches; farther days have a date field. */
const SLIDER_DAYS_AHEAD = 112;

/** What stands behind each moment as a broken line. */
const BEHIND: Record<DrawnMoment, DrawnMoment> = { today: 'as-cut', 'as-cut': 'today', wanted: 'today' };

type Figure = { readonly view: View; readonly svg: string; readonly caption: string };
export type Figures = { readonly figures: readonly Figure[] } | { readonly refused: string };

function figuresOf(drawing: Pictures): Figures {
  if ('refused' in drawing) return { refused: drawing.refused };
  return { figures: drawing.pictures.map((one) => ({ ...one, caption: CAPTIONS[one.view] ?? one.view })) };
}

/** The drawn shape of the card: one moment from the side and the back, what is wanted beside it, the weeks ahead. */
@Injectable()
export class CardDrawings {
  constructor(private readonly drawings: Drawings) {}

  /** The figures of one moment with another behind them; 'today' is the day of `adjusted`. */
  figures(adjusted: GrowthAdjusted, moment: DrawnMoment, spoken: Spoken): Figures {
    const day = adjusted.on === spoken.today ? 'today' : `on ${dayText(adjusted.on, spoken)}`;
    return figuresOf(
      this.drawings.views(adjusted, CARD_VIEWS, moment, {
        id: 'shown',
        when: day,
        behind: BEHIND[moment],
      }),
    );
  }

  /** All that the card shows of the shape of `adjusted`. */
  card(adjusted: GrowthAdjusted, moment: DrawnMoment, clientId: string, spoken: Spoken) {
    const shown = this.figures(adjusted, moment, spoken);
    if ('refused' in shown) return { refused: shown.refused };
    const wanted = figuresOf(this.drawings.views(adjusted, CARD_VIEWS, 'wanted', { id: 'wanted' }));
    const strip = this.drawings.strip(adjusted, 'right');
    return {
      figures: shown.figures,
      words: shownWords(adjusted, moment, spoken),
      ...('figures' in wanted ? { wanted: wanted.figures } : { wantedRefused: wanted.refused }),
      ...('svg' in strip && adjusted.on === spoken.today && { strip: strip.svg }),
      choices: choices(adjusted, moment, clientId, spoken),
      slider: slider(adjusted, spoken),
    };
  }
}

/** What is drawn, for the line under the figures. */
export function shownWords({ whole, on }: GrowthAdjusted, moment: DrawnMoment, spoken: Spoken): string {
  const cutOn = whole.formula.cutOn ? `as cut on ${dayText(whole.formula.cutOn, spoken)}` : 'as cut';
  const day = on === spoken.today ? 'today' : `on ${dayText(on, spoken)}`;
  if (moment === 'wanted') return `As wanted; the broken line is the shape ${day}.`;
  const [drawn, line] = moment === 'as-cut' ? [cutOn, day] : [day, cutOn];
  return `${drawn.charAt(0).toUpperCase()}${drawn.slice(1)}; the broken line is the shape ${line}.`;
}

function choices({ whole, on }: GrowthAdjusted, moment: DrawnMoment, clientId: string, spoken: Spoken) {
  const { today } = spoken;
  const link = (query: string, words: string, here: boolean) => ({
    href: `/clients/${clientId}${query}#shape`,
    words,
    here,
  });
  const { cutOn } = whole.formula;
  const ahead = (weeks: number) => addDays(today, 7 * weeks);
  return [
    link('?show=as-cut', cutOn ? `As cut, ${shortDay(cutOn, spoken)}` : 'As cut', moment === 'as-cut'),
    link('', 'Today', moment === 'today' && on === today),
    ...WEEKS_AHEAD.map((weeks) =>
      link(`?on=${ahead(weeks)}`, `In ${weeks} weeks`, moment === 'today' && on === ahead(weeks)),
    ),
    link('?show=wanted', 'As wanted', moment === 'wanted'),
  ];
}

function slider({ whole, on }: GrowthAdjusted, { today }: Spoken) {
  const from = whole.formula.cutOn ?? today;
  const last = Math.max(daysBetween(from, on), daysBetween(from, today) + SLIDER_DAYS_AHEAD);
  return { from, last, at: Math.max(0, daysBetween(from, on)) };
}
