import type { Technique } from './formula.js';

/**
 * How far tips scatter by technique: standard deviation in mm, at most so much and at most a part of the length.
 * The lengths themselves stay; a scatter softens the line. Ours, no source.
 */
const SPREAD: Readonly<Record<Technique, { readonly mostMm: number; readonly ofLength: number }>> = {
  club: { mostMm: 0, ofLength: 0 },
  'clipper-over-comb': { mostMm: 1, ofLength: 0.08 },
  'scissor-over-comb': { mostMm: 2, ofLength: 0.1 },
  point: { mostMm: 6, ofLength: 0.12 },
  razor: { mostMm: 9, ofLength: 0.18 },
  slice: { mostMm: 14, ofLength: 0.22 },
};

export function spreadOf(technique: Technique, lengthMm: number): number {
  const { mostMm, ofLength } = SPREAD[technique];
  return Math.min(mostMm, ofLength * lengthMm);
}
