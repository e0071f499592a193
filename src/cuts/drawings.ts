import { Injectable } from '@nestjs/common';
import { LRUCache } from 'lru-cache';
import { validated } from '../base/index.js';
import type { HeadOptions } from '../engine/head/index.js';
import {
  drawShape,
  drawStrip,
  outlineFrom,
  shapeInWords,
  silhouette,
  type View,
} from '../engine/shape/index.js';
import { ZONES, type Zone } from '../engine/zones.js';
import type { Recorded } from './engine-formula.js';
import { FormulaInput } from './formula.input.js';
import { PLAIN_STEP } from './formulas.js';
import type { GrowthAdjusted } from './growth-adjusted.js';
import { asWanted, type CutShape, grown, type Refusal, readings, tryCutShape } from './shape-of.js';

/** What can be drawn of a client's hair. */
export type DrawnMoment = 'as-cut' | 'today' | 'wanted';

const MOMENTS: Record<DrawnMoment, string> = {
  'as-cut': 'as cut',
  today: 'today',
  wanted: 'as wanted',
};
const VIEW_WORDS: Record<View, string> = {
  right: 'from her right side',
  left: 'from her left side',
  back: 'from the back',
  front: 'from the front',
};
const STRIP_WEEKS = [0, 3, 5, 8];

/** SVG documents, or the reason in words why there is none. */
export type Drawing = { readonly svg: string } | Refusal;

/** One SVG document for each side that was asked for, in that order, or the reason why there is none. */
export type Pictures =
  | { readonly pictures: readonly { readonly view: View; readonly svg: string }[] }
  | Refusal;

/** What the drawings of one moment are called, and what lies behind them. */
export type Looked = {
  /** Prefix of their ids: two sets on one page need two. */
  readonly id: string;
  /** Of the day of `adjusted`, in place of "today". */
  readonly when?: string;
  readonly behind?: DrawnMoment;
};

/** Draws a formula as it is cut on a head, or says in words why it cannot be. */
export function drawCut(
  head: HeadOptions,
  recorded: Recorded,
  view: View,
  words: { readonly id: string; readonly title: string },
): Drawing {
  const shape = tryCutShape(head, recorded);
  return 'refused' in shape ? shape : { svg: drawnBy(shape)(view, words) };
}

/** Like {@link drawCut} for several sides of one head, which is cut once; each title ends in its side. */
export function drawCutViews(
  head: HeadOptions,
  recorded: Recorded,
  views: readonly View[],
  words: { readonly id: string; readonly title: string },
): Pictures {
  const shape = tryCutShape(head, recorded);
  if ('refused' in shape) return shape;
  const draw = drawnBy(shape);
  const pictures = views.map((view) => ({
    view,
    svg: draw(view, {
      id: `${words.id}-${view}`,
      title: `${words.title}, ${VIEW_WORDS[view]}`,
    }),
  }));
  return { pictures };
}

/**
 * The shape of a formula that nobody recorded yet, as it would be cut on this head; `input` is a FormulaInput. Throws
 * INPUT.INVALID.
 */
export async function drawUnrecorded(
  head: HeadOptions,
  input: unknown,
  views: readonly View[],
): Promise<Pictures> {
  const { name, steps, lengths, links = [] } = await validated(FormulaInput, input);
  const recorded = { steps: steps.map((step) => ({ ...PLAIN_STEP, ...step })), lengths, links };
  return drawCutViews(head, recorded, views, { id: 'unrecorded', title: name });
}

/** Draws sides of one shape, what they share being made once. */
function drawnBy(shape: CutShape, behind?: { readonly shape: CutShape; readonly words: string }) {
  const told = shapeInWords(readings(shape), shape.weightLine);
  const seen = silhouette(shape.shape);
  const seenBehind = behind && silhouette(behind.shape.shape);
  return (view: View, words: { readonly id: string; readonly title: string }): string =>
    drawShape(seen, view, {
      ...words,
      description: behind ? `${told} The broken line is the shape ${behind.words}.` : told,
      weightLine: shape.weightLine,
      ...(seenBehind && { ghost: outlineFrom(seenBehind, view) }),
    });
}

/** Characters of drawings that are kept: the cards of some two hundred clients. */
const MOST_KEPT = 16 * 2 ** 20;

const lengthOf = (drawing: Drawing | Pictures): number => {
  if ('refused' in drawing) return drawing.refused.length + 1;
  return 'svg' in drawing
    ? drawing.svg.length
    : drawing.pictures.reduce((sum, { svg }) => sum + svg.length, 0) + 1;
};

/**
 * Draws a client's cut formula: as cut, as grown today, as wanted, and on the weeks ahead. A drawing follows from what it
 * is of, so it is made once and kept until others want the room.
 */
@Injectable()
export class Drawings {
  private readonly kept = new LRUCache<string, Drawing | Pictures>({
    maxSize: MOST_KEPT,
    sizeCalculation: lengthOf,
  });

  /** One view of one moment; with the outline of another moment behind it as a broken line where one is named. */
  draw(adjusted: GrowthAdjusted, view: View, moment: DrawnMoment, behind?: DrawnMoment): Drawing {
    const drawing = this.views(adjusted, [view], moment, { id: moment, ...(behind && { behind }) });
    if ('refused' in drawing) return drawing;
    const [picture] = drawing.pictures;
    return { svg: picture?.svg ?? '' };
  }

  /**
   * Several sides of one moment, from one cut; 'today' is the day of `adjusted`, whatever day that is. A moment behind
   * that cannot be drawn is left out.
   */
  views(
    adjusted: GrowthAdjusted,
    views: readonly View[],
    moment: DrawnMoment,
    { id, when, behind }: Looked,
  ): Pictures {
    return this.once(adjusted, [views, moment, id, when, behind], (): Pictures => {
      const at = momentsOf(adjusted);
      const shape = at(moment);
      if ('refused' in shape) return shape;
      const ghost = behind && at(behind);
      const words = (which: DrawnMoment) => (which === 'today' && when) || MOMENTS[which];
      const line =
        behind && ghost && !('refused' in ghost) ? { shape: ghost, words: words(behind) } : undefined;
      const draw = drawnBy(shape, line);
      const title = `${adjusted.whole.formula.name} ${words(moment)}`;
      const pictures = views.map((view) => {
        return { view, svg: draw(view, { id: `${id}-${view}`, title: `${title}, ${VIEW_WORDS[view]}` }) };
      });
      return { pictures };
    });
  }

  /** The hair on the day of `adjusted` and three, five and eight weeks later, side by side. */
  strip(adjusted: GrowthAdjusted, view: View): Drawing {
    return this.once(adjusted, ['strip', view], (): Drawing => {
      const today = momentsOf(adjusted)('today');
      if ('refused' in today) return today;
      const rates = rateOf(adjusted);
      const frames = STRIP_WEEKS.map((weeks) => {
        const later = grown(
          today,
          mapZones((zone) => rates[zone] * weeks * 7),
        );
        return {
          silhouette: silhouette(later.shape),
          label: weeks === 0 ? 'Today' : `${weeks} weeks`,
        };
      });
      const svg = drawStrip(frames, view, {
        id: `strip-${view}`,
        title: `${adjusted.whole.formula.name} growing out, ${VIEW_WORDS[view]}`,
        description: `Today and in ${STRIP_WEEKS.slice(1).join(', ')} weeks; the broken line is today.`,
      });
      return { svg };
    });
  }

  /** The key is all that a drawing follows from, so that nothing kept can be out of date. */
  private once<T extends Drawing | Pictures>(
    { head, whole, zones, profile }: GrowthAdjusted,
    asked: readonly unknown[],
    make: () => T,
  ): T {
    const { steps, lengths, links, formula } = whole;
    const growth = zones.map(({ zone, now, left, rate }) => [
      zone,
      now.meanMm,
      left.leftMm,
      rate.meanMmPerDay,
    ]);
    const key = JSON.stringify([
      asked,
      head,
      formula.name,
      steps,
      lengths,
      links,
      growth,
      profile.prior.meanMmPerDay,
    ]);
    const known = this.kept.get(key);
    if (known) return known as T;
    const made = make();
    this.kept.set(key, made);
    return made;
  }
}

/** The shapes of a head at each moment; what is cut once serves for as cut and for every day of growth. */
function momentsOf({ head, whole, zones }: GrowthAdjusted): (moment: DrawnMoment) => CutShape | Refusal {
  let asCut: CutShape | Refusal | undefined;
  return (moment) => {
    if (moment === 'wanted') return tryCutShape(head, asWanted(whole));
    asCut ??= tryCutShape(head, whole);
    if ('refused' in asCut || moment === 'as-cut') return asCut;
    const growth = new Map(zones.map(({ zone, now, left }) => [zone, now.meanMm - left.leftMm]));
    return grown(
      asCut,
      mapZones((zone) => growth.get(zone) ?? 0),
    );
  };
}

function mapZones(of: (zone: Zone) => number): Record<Zone, number> {
  return Object.fromEntries(ZONES.map((zone) => [zone, of(zone)])) as Record<Zone, number>;
}

function rateOf({ zones, profile }: GrowthAdjusted): Record<Zone, number> {
  const known = new Map(zones.map(({ zone, rate }) => [zone, rate.meanMmPerDay]));
  return mapZones((zone) => known.get(zone) ?? profile.prior.meanMmPerDay);
}
