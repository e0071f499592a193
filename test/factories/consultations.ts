import { Consultations } from '../../src/consultations/index.js';
import { SafetyRecords } from '../../src/skin-tests/index.js';
import type { TestStore } from './salon.js';

export function consultationsOf({ units, reader, clock, audit }: TestStore): Consultations {
  return new Consultations(units, reader, clock, audit, new SafetyRecords(units, clock, audit));
}

/** Everything but the parties and the health part, as a stylist would fill it in. */
export const TALK = {
  wantedShape: 'Shorter over the ears, fringe to the brow',
  why: 'Swims every morning; it must dry by itself',
  dailyEffortMinutes: 5,
  dailyEffort: 'A towel and a little wax',
  density: 'medium',
  texture: 'fine',
  wave: 'wavy',
  growthPatterns: ['whorl-left', 'nape-grows-up'],
  hairNotes: 'Lies flat at the crown',
  notes: 'Has a wedding on 20 June',
};

/** A health part without anything that bars colour. */
export const CALM_HEALTH = {
  scalp: ['dry'],
  scalpWords: 'A little dry behind the ears',
  contraindications: [{ kind: 'allergy', told: 'Latex gloves' }],
  words: 'Takes nothing',
};
