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
import { asWanted, type CutShape, grown, headOptions, readings, tryCutShape } from './shape-of.js';

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
export type Drawing = { readonly svg: string } | { readonly refused: string };

/** Draws a formula as it is cut on a head, or says in words why it cannot be. */
export function drawCut(
  head: HeadOptions,
  recorded: Recorded,
  view: View,
  words: { readonly id: string; readonly title: string },
): Drawing {
  const shape = tryCutShape(head, recorded);
  if ('refused' in shape) return shape;
  const description = shapeInWords(readings(shape), shape.weightLine);
  return {
    svg: drawShape(silhouette(shape.shape), view, { ...words, description, weightLine: shape.weightLine }),
  };
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
    const shape = await this.shapeAt(manager, adjusted, moment);
    if ('refused' in shape) return shape;
    const ghost = behind && (await this.shapeAt(manager, adjusted, behind));
    const title = `${adjusted.whole.formula.name} ${MOMENTS[moment]}, ${VIEW_WORDS[view]}`;
    const broken =
      ghost && !('refused' in ghost)
        ? ` The broken line is the shape ${MOMENTS[behind as DrawnMoment]}.`
        : '';
    const svg = drawShape(silhouette(shape.shape), view, {
      id: `${view}-${moment}`,
      title,
      description: `${shapeInWords(readings(shape), shape.weightLine)}${broken}`,
      weightLine: shape.weightLine,
      ...(ghost && !('refused' in ghost) && { ghost: outlineFrom(silhouette(ghost.shape), view) }),
    });
    return { svg };
  }

  /** The hair on the day of `adjusted` and three, five and eight weeks later, side by side. */
  async strip(manager: EntityManager, adjusted: GrowthAdjusted, view: View): Promise<Drawing> {
    const today = await this.shapeAt(manager, adjusted, 'today');
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

  private async shapeAt(
    manager: EntityManager,
    { whole, zones }: GrowthAdjusted,
    moment: DrawnMoment,
  ): Promise<CutShape | { readonly refused: string }> {
    const client = await manager.findOneBy(Client, { id: whole.formula.clientId ?? '' });
    const shape = tryCutShape(headOptions(client), moment === 'wanted' ? asWanted(whole) : whole);
    if ('refused' in shape || moment !== 'today') return shape;
    const growth = new Map(zones.map(({ zone, now, left }) => [zone, now.meanMm - left.leftMm]));
    return grown(
      shape,
      mapZones((zone) => growth.get(zone) ?? 0),
    );
  }
}

function mapZones(of: (zone: Zone) => number): Record<Zone, number> {
  return Object.fromEntries(ZONES.map((zone) => [zone, of(zone)])) as Record<Zone, number>;
}

function rateOf({ zones, profile }: GrowthAdjusted): Record<Zone, number> {
  const known = new Map(zones.map(({ zone, rate }) => [zone, rate.meanMmPerDay]));
  return mapZones((zone) => known.get(zone) ?? profile.prior.meanMmPerDay);
}
