import { EngineError, requireNumber } from '../errors.js';

export interface Search {
  /** What is sought, as the caller names it: it becomes the error's field. */
  readonly field: string;
  readonly min: number;
  readonly max: number;
  /** How near the answer must lie, in the unit of what is sought. */
  readonly tolerance: number;
}

/**
 * The value between min and max at which `figure` equals `wanted`. `figure` must rise or fall all the way, otherwise one
 * of several answers is found.
 *
 * @throws EngineError NOT_A_NUMBER, or IMPOSSIBLE naming the field and what can be reached when `wanted` lies outside
 */
export function bisect(figure: (value: number) => number, wanted: number, search: Search): number {
  const { field, tolerance } = search;
  requireNumber(wanted, `${field}.wanted`, -Number.MAX_VALUE, Number.MAX_VALUE);
  let low = search.min;
  let high = search.max;
  const atLow = requireNumber(figure(low), field, -Number.MAX_VALUE, Number.MAX_VALUE);
  const atHigh = requireNumber(figure(high), field, -Number.MAX_VALUE, Number.MAX_VALUE);
  const [least, most] = atLow < atHigh ? [atLow, atHigh] : [atHigh, atLow];
  if (wanted < least || wanted > most) {
    throw new EngineError(
      'ENGINE.IMPOSSIBLE',
      field,
      `No ${field} between ${low} and ${high} gives ${wanted.toFixed(1)}; within reach is ${least.toFixed(1)} to ${most.toFixed(1)}.`,
    );
  }
  const rising = atHigh > atLow;
  while (high - low > tolerance) {
    const middle = (low + high) / 2;
    const below = figure(middle) < wanted;
    if (below === rising) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
