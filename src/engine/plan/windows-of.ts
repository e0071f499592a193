import { ShapeSurvival } from './survival.js';
import { failureDays } from './window-days.js';

/** Rows of {@link packWindow}, one after the other. */
export interface WindowBatch {
  readonly rows: Float64Array;
  /** Where each client's row starts in `rows`; the row ends where the next starts. */
  readonly starts: Uint32Array;
}

/** Rows of {@link packWindow} laid one after the other. */
export function batchOf(packed: readonly Float64Array[]): WindowBatch {
  const starts = new Uint32Array(packed.length);
  const rows = new Float64Array(packed.reduce((sum, row) => sum + row.length, 0));
  let at = 0;
  for (const [client, row] of packed.entries()) {
    starts[client] = at;
    rows.set(row, at);
    at += row.length;
  }
  return { rows, starts };
}

/** One entry per client, whole days after the cut. */
export interface BatchWindows {
  readonly earliestDays: Uint16Array;
  readonly dueDays: Uint16Array;
  readonly latestDays: Uint16Array;
  /** Place (from 0) of the limit most likely to have been passed on the due day. */
  readonly limit: Uint8Array;
}

/**
 * The rebooking windows of a whole book of clients: the mathematics of {@link rebookingWindow} on flat arrays, linear in
 * the number of clients. `limit` is the quick stand-in for `first`: it asks which limit has most likely been passed by
 * the due day, not which one is passed first.
 */
export function windowsOf(batch: WindowBatch): BatchWindows {
  const { rows, starts } = batch;
  const count = starts.length;
  const result = {
    earliestDays: new Uint16Array(count),
    dueDays: new Uint16Array(count),
    latestDays: new Uint16Array(count),
    limit: new Uint8Array(count),
  };
  const shape = new ShapeSurvival();
  for (let client = 0; client < count; client += 1) {
    shape.load(rows, starts[client]!, client + 1 < count ? starts[client + 1]! : rows.length);
    const [earliest, due, latest] = failureDays(shape);
    result.earliestDays[client] = Math.round(earliest);
    result.dueDays[client] = Math.round(due);
    result.latestDays[client] = Math.round(latest);
    result.limit[client] = shape.likeliestFailed(due);
  }
  return result;
}

/**
 * Of every client the probability that the shape has gone `days[i]` days after the cut the row counts from; negative
 * days count as 0.
 */
export function goneBy(batch: WindowBatch, days: ArrayLike<number>): Float64Array {
  const { rows, starts } = batch;
  const gone = new Float64Array(starts.length);
  const shape = new ShapeSurvival();
  for (let client = 0; client < starts.length; client += 1) {
    shape.load(rows, starts[client]!, client + 1 < starts.length ? starts[client + 1]! : rows.length);
    gone[client] = shape.failed(Math.max(0, days[client] ?? 0));
  }
  return gone;
}
