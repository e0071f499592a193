/**
 * While a visit is completed: a page with typed values is not left by accident, and a touched number is replaced whole.
 */
const form = document.querySelector<HTMLFormElement>('form[data-units]');

if (form) {
  let touched = false;
  form.addEventListener('input', () => {
    touched = true;
  });
  form.addEventListener('submit', () => {
    touched = false;
  });
  window.addEventListener('beforeunload', (event) => {
    if (touched) event.preventDefault();
  });
  // A wet finger on a number box should replace what stands there, not edit the middle of it.
  for (const box of form.querySelectorAll<HTMLInputElement>('input[inputmode]')) {
    box.addEventListener('focus', () => box.select());
  }
}
