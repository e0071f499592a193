/*
 * On every page: a form that is pressed twice is sent once, and without a connection it is not sent at all, because the
 * browser's own page would stand in the place of what was typed. Without this script the server refuses what cannot be
 * done twice.
 */
/** After so long a press means that the first one got lost. */
const PATIENCE_MS = 10_000;
const NO_CONNECTION = 'No connection. What you typed is still here: send it when the network is back.';

const sent = new Map<HTMLFormElement, number>();

function banner(): HTMLElement {
  const found = document.getElementById('no-connection');
  if (found) return found;
  const made = document.createElement('p');
  made.id = 'no-connection';
  made.className = 'caution';
  made.setAttribute('role', 'status');
  document.getElementById('main')?.before(made);
  return made;
}

function tell(): void {
  if (navigator.onLine) document.getElementById('no-connection')?.remove();
  else banner().textContent = NO_CONNECTION;
}

// On the document, after whatever a page's own script does with its form.
document.addEventListener('submit', (event) => {
  const form = event.target;
  if (event.defaultPrevented || !(form instanceof HTMLFormElement)) return;
  const isAgain = Date.now() - (sent.get(form) ?? Number.NEGATIVE_INFINITY) < PATIENCE_MS;
  if (isAgain || !navigator.onLine) event.preventDefault();
  else if (form.method === 'post') sent.set(form, Date.now());
  tell();
});
// Back by the browser's button: the page is as it was left.
window.addEventListener('pageshow', () => sent.clear());
window.addEventListener('offline', tell);
window.addEventListener('online', tell);
