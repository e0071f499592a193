/**
 * While a visit is completed: the drawing follows what is typed, steps move in place, nothing typed is lost, and a
 * touched number is replaced whole. Without it the form's own buttons do the same.
 */
import { keepDrafts } from './visit-draft.js';
import { followDrawing } from './visit-drawing.js';
import { moveSteps } from './visit-moves.js';

const form = document.querySelector<HTMLFormElement>('form[data-keep]');

if (form) {
  const changed = followDrawing(form);
  const keep = keepDrafts(form);
  moveSteps(form, () => {
    changed();
    keep();
  });
  form.addEventListener('input', () => {
    changed();
    keep();
  });
  // A wet finger on a number box should replace what stands there, not edit the middle of it.
  form.addEventListener('focusin', ({ target }) => {
    if (target instanceof HTMLInputElement && target.inputMode !== '') target.select();
  });
}
