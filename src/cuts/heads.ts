import { LRUCache } from 'lru-cache';
import { buildHead, type Head, type HeadOptions } from '../engine/head/index.js';
import { buildFallTable, type FallTable } from '../engine/shape/index.js';

export type HeadWithFall = { readonly head: Head; readonly fall: FallTable };

/** A head with its fall lines takes some 3 MB and a fraction of a second to build. */
const HEADS_KEPT = 12;
/** Circumferences closer than this draw alike. */
const CIRCUMFERENCE_STEP_MM = 10;

const kept = new LRUCache<string, HeadWithFall>({ max: HEADS_KEPT });

/** The head these options describe, built once; the least lately used are let go. */
export function headFor(options: HeadOptions): HeadWithFall {
  const { circumferenceMm, whorlSide, partingSide } = options;
  const rounded: HeadOptions = {
    ...(circumferenceMm !== undefined && {
      circumferenceMm: CIRCUMFERENCE_STEP_MM * Math.round(circumferenceMm / CIRCUMFERENCE_STEP_MM),
    }),
    ...(whorlSide && { whorlSide }),
    ...(partingSide && { partingSide }),
  };
  const key = JSON.stringify(rounded);
  const known = kept.get(key);
  if (known) return known;
  const head = buildHead(rounded);
  const built = { head, fall: buildFallTable(head) };
  kept.set(key, built);
  return built;
}
