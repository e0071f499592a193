import type { MEASURING_TOOLS } from '../cuts/index.js';
import { METHOD_WORDS, optionsOf, SECTION_WORDS, TECHNIQUE_WORDS, ZONE_OPTIONS } from './words.js';

const TOOL_WORDS = { hand: 'the hand', ruler: 'a ruler', guard: 'a guard' } satisfies Record<
  (typeof MEASURING_TOOLS)[number],
  string
>;

/** The lists that the visit's form chooses from. */
export const VISIT_CHOICES = {
  methods: optionsOf(METHOD_WORDS),
  sections: optionsOf(SECTION_WORDS),
  techniques: optionsOf(TECHNIQUE_WORDS),
  tools: optionsOf(TOOL_WORDS),
  zoneOptions: ZONE_OPTIONS,
  done: optionsOf({ cut: 'cut', grow: 'left to grow', not: 'not touched' }),
};
