import { describe, expect, it } from '@jest/globals';
import { requireStep, type Step } from './states.js';

const STATES = ['booked', 'arrived', 'done', 'no-show', 'cancelled'] as const;

/** Worked out from what happens in a salon: who has arrived, who can still come, and what is over. */
const MAY: Readonly<Record<Step, readonly (typeof STATES)[number][]>> = {
  move: ['booked'],
  cancel: ['booked'],
  arrive: ['booked', 'no-show'],
  seat: ['arrived'],
  unArrive: ['arrived'],
  noShow: ['booked'],
  markDone: ['booked', 'arrived'],
  confirm: ['booked'],
};

describe('requireStep', () => {
  it.each(Object.entries(MAY) as [Step, readonly string[]][])('%s from no state but %j', (step, states) => {
    for (const state of STATES) {
      const ask = () => requireStep(state, step);
      if (states.includes(state)) expect(ask).not.toThrow();
      else
        expect(ask).toThrow(expect.objectContaining({ code: 'BOOK.WRONG_STATE', details: { state, step } }));
    }
  });

  it.each<[(typeof STATES)[number], Step, string]>([
    ['arrived', 'move', 'Cannot move it: the client has arrived; take the arrival back first.'],
    ['done', 'cancel', 'Cannot cancel it: it is done.'],
    ['cancelled', 'arrive', 'Cannot mark the client as arrived: it is cancelled; book a new one.'],
    ['booked', 'seat', 'Cannot show the client to the chair: the client has not arrived yet.'],
    ['booked', 'unArrive', 'Cannot take the arrival back: the client has not arrived yet.'],
    ['done', 'noShow', 'Cannot mark it as a no-show: it is done.'],
    ['no-show', 'markDone', 'Cannot complete it: it is marked as a no-show.'],
    ['no-show', 'confirm', 'Cannot confirm it: it is marked as a no-show.'],
  ])('says of %s why it cannot %s', (state, step, words) => {
    expect(() => requireStep(state, step)).toThrow(words);
  });
});
