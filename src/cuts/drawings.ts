import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Client } from '../clients/index.js';
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
import type { GrowthAdjusted } from './growth-adjusted.js';
import {
  asWanted,
  type CutShape,
  grown,
  headOptions,
  type Refusal,
  readings,
  tryCutShape,
} from './shape-of.js';

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
  return 'refused' in shape ? shape : { svg: drawn(shape, view, words) };
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
  const pictures = views.map((view) => ({
    view,
    svg: drawn(shape, view, {
      id: `${words.id}-${view}`,
      title: `${words.title}, ${VIEW_WORDS[view]}`,
    }),
  }));
  return { pictures };
}

function drawn(
  shape: CutShape,
  view: View,
  words: { readonly id: string; readonly title: string },
  behind?: { readonly shape: CutShape; readonly words: string },
): string {
  const told = shapeInWords(readings(shape), shape.weightLine);
  return drawShape(silhouette(shape.shape), view, {
    ...words,
    description: behind ? `${told} The broken line is the shape ${behind.words}.` : told,
    weightLine: shape.weightLine,
    ...(behind && { ghost: outlineFrom(silhouette(behind.shape.shape), view) }),
  });
}

/** Draws a client's cut formula: as cut, as grown today, as wanted, and on the weeks ahead. */
@Injectable()
export class Drawings {
  /** One view of one moment; with the outline of another moment behind it as a broken line where one is named. */
  async draw(
    manager: EntityManager,
    adjusted: GrowthAdjusted,
    view: View,
    moment: DrawnMoment,
    behind?: DrawnMoment,
  ): Promise<Drawing> {
    const drawing = await this.views(manager, adjusted, [view], moment, {
      id: moment,
      ...(behind && { behind }),
    });
    if ('refused' in drawing) return drawing;
    const [picture] = drawing.pictures;
    return { svg: picture?.svg ?? '' };
  }

  /**
   * Several sides of one moment, from one cut; 'today' is the day of `adjusted`, whatever day that is. A moment behind
   * that cannot be drawn is left out.
   */
  async views(
    manager: EntityManager,
    adjusted: GrowthAdjusted,
    views: readonly View[],
    moment: DrawnMoment,
    { id, when, behind }: Looked,
  ): Promise<Pictures> {
    const at = await this.moments(manager, adjusted);
    const shape = at(moment);
    if ('refused' in shape) return shape;
    const ghost = behind && at(behind);
    const words = (which: DrawnMoment) => (which === 'today' && when) || MOMENTS[which];
    const line =
      behind && ghost && !('refused' in ghost) ? { shape: ghost, words: words(behind) } : undefined;
    const pictures = views.map((view) => ({
      view,
      svg: drawn(
        shape,
        view,
        {
          id: `${id}-${view}`,
          title: `${adjusted.whole.formula.name} ${words(moment)}, ${VIEW_WORDS[view]}`,
        },
        line,
      ),
    }));
    return { pictures };
  }

  /** The hair on the day of `adjusted` and three, five and eight weeks later, side by side. */
  async strip(manager: EntityManager, adjusted: GrowthAdjusted, view: View): Promise<Drawing> {
    const today = (await this.moments(manager, adjusted))('today');
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
  }

  /** The shapes of a head at each moment; what is cut once serves for as cut and for every day of growth. */
  private async moments(
    manager: EntityManager,
    { whole, zones }: GrowthAdjusted,
  ): Promise<(moment: DrawnMoment) => CutShape | Refusal> {
    const client = await manager.findOneBy(Client, { id: whole.formula.clientId ?? '' });
    const head = headOptions(client);
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
}

function mapZones(of: (zone: Zone) => number): Record<Zone, number> {
  return Object.fromEntries(ZONES.map((zone) => [zone, of(zone)])) as Record<Zone, number>;
}

function rateOf({ zones, profile }: GrowthAdjusted): Record<Zone, number> {
  const known = new Map(zones.map(({ zone, rate }) => [zone, rate.meanMmPerDay]));
  return mapZones((zone) => known.get(zone) ?? profile.prior.meanMmPerDay);
}
