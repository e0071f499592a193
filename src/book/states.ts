import { DomainError } from '../base/index.js';
import type { AppointmentState } from './entities.js';

export type Step = 'move' | 'cancel' | 'arrive' | 'seat' | 'unArrive' | 'noShow' | 'markDone' | 'confirm';

/**
 * From which states each step may be taken. A visit proves that its client came, so an appointment may be done without
 * having been marked as arrived; a client who comes after all ends her no-show. Cancelled and done are final.
 */
const FROM: Readonly<Record<Step, readonly AppointmentState[]>> = {
  move: ['booked'],
  cancel: ['booked'],
  arrive: ['booked', 'no-show'],
  seat: ['arrived'],
  unArrive: ['arrived'],
  noShow: ['booked'],
  markDone: ['booked', 'arrived'],
  confirm: ['booked'],
};

const STEP_WORDS: Readonly<Record<Step, string>> = {
  move: 'move it',
  cancel: 'cancel it',
  arrive: 'mark the client as arrived',
  seat: 'show the client to the chair',
  unArrive: 'take the arrival back',
  noShow: 'mark it as a no-show',
  markDone: 'complete it',
  confirm: 'confirm it',
};

const STATE_WORDS: Readonly<Record<AppointmentState, string>> = {
  booked: 'the client has not arrived yet',
  arrived: 'the client has arrived; take the arrival back first',
  done: 'it is done',
  'no-show': 'it is marked as a no-show',
  cancelled: 'it is cancelled; book a new one',
};

/** Throws BOOK.WRONG_STATE when an appointment in this state cannot take the step. */
export function requireStep(state: AppointmentState, step: Step): void {
  if (FROM[step].includes(state)) return;
  throw new DomainError(
    'refused',
    'BOOK.WRONG_STATE',
    `Cannot ${STEP_WORDS[step]}: ${STATE_WORDS[state]}.`,
    [],
    { state, step },
  );
}
