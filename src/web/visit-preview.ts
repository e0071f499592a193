import type { ClientRecord } from '../clients/index.js';
import {
  drawCutViews,
  type GrowthAdjusted,
  headOptions,
  type Recorded,
  type WholeFormula,
} from '../cuts/index.js';
import type { View } from '../engine/shape/index.js';
import { ZONES } from '../engine/zones.js';
import type { Ruler } from './lengths.js';
import { Typed } from './typed.js';
import { type ReadCut, readCut } from './visit-form.js';
import { keyOfCutStep, recordedSteps, stepKeys, type Values } from './visit-steps.js';

export type Preview =
  | { readonly figures: readonly { readonly view: View; readonly svg: string }[] }
  /** Why there is no drawing, with the key of the step that is in the way. */
  | { readonly refused: string; readonly step?: string };

const VIEWS: readonly View[] = ['right', 'back'];

/**
 * The shape as the form would record it: zones that are cut stand at what they are left at, the others as they are on
 * the head today. Boxes that cannot be read are left out, as if empty: they are told when the form is sent.
 */
export function previewOf(
  values: Values,
  source: WholeFormula | undefined,
  now: GrowthAdjusted | undefined,
  client: ClientRecord,
  ruler: Ruler,
): Preview {
  const cut = readCut(new Typed(values), values, source, ruler);
  const recorded: Recorded = {
    steps: recordedSteps(cut.steps),
    lengths: lengthsAfter(cut, now),
    links: source?.links ?? [],
  };
  if (recorded.lengths.length === 0 && recorded.steps.length === 0) {
    return { refused: 'Nothing to draw yet: write a length, or add a step.' };
  }
  const title = (values['formulaName'] ?? '').trim() || 'The shape';
  const drawing = drawCutViews(headOptions(client), recorded, VIEWS, {
    id: 'now',
    title: `${title} as typed`,
  });
  if ('pictures' in drawing) return { figures: drawing.pictures };
  const key = drawing.step === undefined ? undefined : keyOfCutStep(cut.steps, drawing.step);
  if (key === undefined) return { refused: drawing.refused };
  return { refused: stepRefusal(values, cut.steps, key, drawing.reason ?? drawing.refused), step: key };
}

/** Why a step cannot be cut; steps are named by the numbers they have on the page, not among those that are cut. */
export function stepRefusal(values: Values, steps: ReadCut['steps'], key: string, reason: string): string {
  const keys = stepKeys(values);
  const words = reason.replace(/\b(step) (\d+)\b/gi, (as, step: string, number: string) => {
    const place = keys.indexOf(keyOfCutStep(steps, Number(number)) ?? '');
    return place < 0 ? as : `${step} ${place + 1}`;
  });
  return words.startsWith('Step') ? words : `Step ${keys.indexOf(key) + 1} cannot be cut: ${words}`;
}

function lengthsAfter(cut: ReadCut, now: GrowthAdjusted | undefined): Recorded['lengths'] {
  return ZONES.flatMap((zone) => {
    const typed = cut.lengths.find((length) => length.zone === zone);
    if (typed?.cut) return [{ zone, leftMm: typed.leftMm }];
    const measured = cut.measurements.find((measurement) => measurement.zone === zone)?.lengthMm;
    const onHead = measured ?? now?.zones.find((one) => one.zone === zone)?.now.meanMm ?? typed?.leftMm;
    return onHead === undefined ? [] : [{ zone, leftMm: onHead }];
  });
}
