/**
 * Keeps what is typed: at once on this device, a moment later on the server. What reached the server is taken off the
 * device again; what did not is offered when the page is opened the next time.
 */
import { sentBy } from './visit-drawing.js';

const PAUSE_MS = 1500;
const AGAIN_MS = 10_000;
const PREFIX = 'halfinch-visit-';

type Local = { readonly at: number; readonly values: readonly (readonly [string, string])[] };
type Answer = { readonly version?: string; readonly conflict?: Conflict };
type Conflict = {
  readonly words: string;
  readonly version: string;
  readonly more: number;
  readonly differs: readonly { readonly name: string; readonly theirs: string; readonly yours: string }[];
};

/** A browser may forbid or fill up its storage; the server's copy then has to do. */
function onDevice<T>(work: () => T): T | null {
  try {
    return work();
  } catch {
    return null;
  }
}

function element(tag: string, text = '', className = ''): HTMLElement {
  const made = document.createElement(tag);
  made.textContent = text;
  if (className) made.className = className;
  return made;
}

/** Sends the kept values as if they had just been typed; the server shows the form with them. */
function takeUp(form: HTMLFormElement, { values }: Local): void {
  const sent = document.createElement('form');
  sent.method = 'post';
  sent.action = form.action;
  const now = new FormData(form);
  const own = ['_csrf', 'draftVersion'].map((name) => [name, String(now.get(name) ?? '')] as const);
  const kept = values.filter(([name]) => name !== '_csrf' && name !== 'draftVersion');
  for (const [name, value] of [...own, ...kept, ['do', 'draw'] as const]) {
    const box = document.createElement('input');
    box.type = 'hidden';
    box.name = name;
    box.value = value;
    sent.append(box);
  }
  document.body.append(sent);
  sent.submit();
}

function offer(form: HTMLFormElement, key: string, local: Local): void {
  const place = document.querySelector('[data-local]');
  if (!place) return;
  const section = element('section', '', 'caution stack tight');
  const when = new Date(local.at).toLocaleTimeString([], { hour: '2-digit', minute: '2-digit' });
  section.append(element('h2', `Kept on this device at ${when}`));
  section.append(element('p', 'It had not reached the salon’s records when this page was left.'));
  const row = element('div', '', 'row');
  const carry = element('button', 'Carry on with it') as HTMLButtonElement;
  carry.type = 'button';
  carry.addEventListener('click', () => takeUp(form, local));
  const forget = element('button', 'Throw away', 'quiet') as HTMLButtonElement;
  forget.type = 'button';
  forget.addEventListener('click', () => {
    onDevice(() => localStorage.removeItem(key));
    section.remove();
  });
  row.append(carry, forget);
  section.append(row);
  place.replaceChildren(section);
}

function tellConflict(form: HTMLFormElement, { words, differs, more, version }: Conflict): void {
  const place = document.querySelector('[data-conflict]');
  if (!place) return;
  const section = element('section', '', 'caution stack tight');
  section.setAttribute('role', 'alert');
  section.append(element('h2', 'Somebody else is recording this visit too'), element('p', words));
  const list = element('ul');
  for (const { name, theirs, yours } of differs) {
    list.append(element('li', `${name}: theirs ${theirs}, yours ${yours}`));
  }
  if (more > 0) list.append(element('li', `and ${more} more`));
  section.append(list);
  const row = element('div', '', 'row');
  if (version !== '') {
    const theirs = element('a', 'Carry on with theirs', 'button quiet') as HTMLAnchorElement;
    theirs.href = `${form.action}?draft=last`;
    row.append(theirs);
  }
  const mine = element('button', 'Carry on with mine', 'quiet') as HTMLButtonElement;
  mine.type = 'button';
  mine.addEventListener('click', () => {
    place.replaceChildren();
    const box = form.elements.namedItem('draftVersion');
    if (box instanceof HTMLInputElement) box.value = version;
    form.dispatchEvent(new Event('input'));
  });
  row.append(mine);
  section.append(row);
  place.replaceChildren(section);
  section.scrollIntoView({ block: 'nearest' });
}

/** Returns what to call after every change. */
export function keepDrafts(form: HTMLFormElement): () => void {
  const key = `${PREFIX}${form.dataset['keep'] ?? ''}`;
  const said = form.querySelector('[data-kept]');
  const say = (words: string): void => {
    if (said) said.textContent = words;
  };
  let timer: ReturnType<typeof setTimeout> | undefined;
  let saving = false;
  let changedAt = 0;
  let isSent = false;

  const local = onDevice(() => JSON.parse(localStorage.getItem(key) ?? 'null') as Local | null);
  if (local) offer(form, key, local);

  const save = async (leaving = false): Promise<void> => {
    if (saving || isSent || changedAt === 0) return;
    saving = true;
    const at = changedAt;
    try {
      const body = sentBy(form);
      const answer = await fetch(`${form.action}/draft`, { method: 'POST', body, keepalive: leaving });
      if (answer.ok && !answer.redirected) {
        const { version } = (await answer.json()) as Answer;
        const box = form.elements.namedItem('draftVersion');
        if (box instanceof HTMLInputElement) box.value = version ?? '';
        if (at === changedAt) onDevice(() => localStorage.removeItem(key));
        say('Kept.');
      } else if (answer.status === 409) {
        const { conflict } = (await answer.json()) as Answer;
        if (conflict) tellConflict(form, conflict);
        say('Kept beside the other one.');
      } else throw new Error(String(answer.status));
    } catch {
      say('No connection: kept on this device.');
      timer = setTimeout(() => void save(), AGAIN_MS);
    }
    saving = false;
    if (at !== changedAt) timer = setTimeout(() => void save(), PAUSE_MS);
  };

  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'hidden') void save(true);
  });
  window.addEventListener('online', () => void save());
  window.addEventListener('pageshow', () => {
    isSent = false;
  });
  form.addEventListener('submit', (event) => {
    if (navigator.onLine) {
      // What is sent is the server's to keep from here on.
      isSent = true;
      return;
    }
    event.preventDefault();
    say('No connection: kept on this device. Press again when it is back.');
  });

  return () => {
    changedAt += 1;
    const kept = JSON.stringify({ at: Date.now(), values: [...sentBy(form)] });
    onDevice(() => localStorage.setItem(key, kept));
    clearTimeout(timer);
    timer = setTimeout(() => void save(), PAUSE_MS);
  };
}
