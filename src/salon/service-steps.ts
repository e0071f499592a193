import { DomainError } from '../base/index.js';
import type { ServiceStep } from './entities.js';

type Stepped = { readonly minutes: number; readonly steps?: readonly ServiceStep[] | null };

/**
 * Throws SERVICE.STEPS_INVALID naming `steps` unless they add up to the service's minutes and begin and end with the
 * stylist at work: somebody has to seat the client and to let her go.
 */
export function requireSteps({ minutes, steps }: Stepped): void {
  if (!steps) return;
  const refuse = (message: string) => DomainError.invalid('SERVICE.STEPS_INVALID', 'steps', message);
  if (steps.length === 0) throw refuse('Steps: give at least one, or leave them out.');
  const sum = steps.reduce((total, step) => total + step.minutes, 0);
  if (sum !== minutes) {
    throw refuse(`Steps: they add up to ${sum} minutes and the service takes ${minutes}. Make them agree.`);
  }
  if (steps[0]?.activity !== 'active' || steps.at(-1)?.activity !== 'active') {
    throw refuse('Steps: the first and the last must be active.');
  }
}
