import { conventionTruths } from './conventions.js';
import { coverageTruths } from './coverage.js';
import { cutTruths } from './cut.js';
import { growthTruths } from './growth.js';
import { headTruths } from './head.js';
import { planTruths } from './plan.js';
import type { TruthRow } from './row.js';
import { statisticsTruths } from './statistics.js';

/**
 * Every figure that is held against something outside, by part: the command prints them, the spec judges them. `clients`
 * are simulated where chance comes in.
 */
export const TRUTHS: Readonly<Record<string, (clients: number) => TruthRow[]>> = {
  growth: growthTruths,
  head: headTruths,
  'cut and shape': cutTruths,
  plan: planTruths,
  statistics: statisticsTruths,
  conventions: conventionTruths,
  coverage: coverageTruths,
};

/** What the command simulates. */
export const CLIENTS = 10_000;
