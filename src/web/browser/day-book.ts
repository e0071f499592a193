/**
 * The book under the hand: appointments are moved and stretched by mouse, finger and keys, presses need no new page, and
 * what other desks do appears by itself. Without it every form and link of the page does the same.
 */
import { followHand } from './day-hand.js';
import { followKeys } from './day-keys.js';
import { Lift, type Lifted } from './day-lift.js';
import { Follower, showNewer } from './day-live.js';

const NO_CONNECTION = 'No connection just now. Nothing was changed; press again when it is back.';
const SIGNED_OUT = 'You are signed out here: this page no longer follows the book. Sign in again to go on.';

function start(live: HTMLElement): void {
  document.documentElement.classList.add('scripted');
  const byId = (id: string): HTMLElement | null => document.getElementById(id);
  let sending = false;

  const say = (words: string): void => {
    const told = byId('book-told');
    const said = byId('book-said');
    if (told) told.hidden = words === '';
    byId('book-undo')?.replaceChildren();
    if (said) said.textContent = words;
  };
  const lift = new Lift(live, say);
  const follower = new Follower(
    live,
    () => lift.lifted !== undefined || sending,
    () => say(SIGNED_OUT),
  );
  const token = (): string => document.querySelector<HTMLInputElement>('input[name="_csrf"]')?.value ?? '';

  const showConflict = (page: Document): boolean => {
    const conflict = page.querySelector('#conflict, .problem-list');
    const place = byId('conflict-place');
    if (!conflict || !place) return false;
    place.replaceChildren(conflict);
    conflict.scrollIntoView({ block: 'nearest' });
    if (conflict instanceof HTMLElement) conflict.focus();
    return true;
  };

  /** Posts as the form would and shows the answer in place. Returns whether it was done. */
  const send = async (action: string, values: URLSearchParams): Promise<boolean> => {
    sending = true;
    byId('conflict-place')?.replaceChildren();
    try {
      const answer = await fetch(action, { method: 'POST', body: values });
      const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
      if (answer.ok && answer.redirected && page.getElementById(live.id)) {
        lift.leave();
        showNewer(live, page);
        say(page.querySelector('main > .notice')?.textContent ?? 'Done.');
        return true;
      }
      if (showConflict(page)) {
        lift.leave();
        say('');
      } else say(page.querySelector('main p')?.textContent ?? NO_CONNECTION);
      return false;
    } catch {
      say(NO_CONNECTION);
      return false;
    } finally {
      sending = false;
      follower.settle();
    }
  };

  const moveValues = (wish: Lifted['wish'], version: string): URLSearchParams =>
    new URLSearchParams({
      _csrf: token(),
      expectedVersion: version,
      staffId: wish.column.dataset['staff'] ?? '',
      startsAt: String(wish.startsAt),
      minutes: String((wish.endsAt - wish.startsAt) / 60_000),
      back: live.dataset['back'] ?? '/today',
    });

  const gripOf = (id: string): HTMLElement | null =>
    byId(`a-${id}`)?.querySelector<HTMLElement>('.grip') ?? null;

  const offerUndo = ({ id, name, was }: Lifted): void => {
    const undo = document.createElement('button');
    undo.type = 'button';
    undo.className = 'quiet';
    undo.textContent = 'Put it back';
    undo.addEventListener('click', () => {
      const version = byId(`a-${id}`)?.dataset['version'] ?? '';
      void send(`/appointments/${id}/move`, moveValues(was, version));
    });
    undo.setAttribute('aria-label', `Put ${name} back to ${lift.words(was)}`);
    byId('book-undo')?.replaceChildren(undo);
  };

  const leave = (): void => {
    const { lifted } = lift;
    lift.leave();
    if (lifted) {
      say(`${lifted.name} stays, ${lift.words(lifted.was)}.`);
      gripOf(lifted.id)?.focus();
    }
    follower.settle();
  };

  const put = async (): Promise<void> => {
    const { lifted } = lift;
    if (!lifted || sending) return;
    if (!lift.isChanged) return leave();
    const { id, version, wish } = lifted;
    if (await send(`/appointments/${id}/move`, moveValues(wish, version))) {
      offerUndo(lifted);
      gripOf(id)?.focus();
    }
  };

  followHand(live, lift, (stretched) => {
    if (!lift.isChanged) return leave();
    // A length concerns nobody but the salon; of a new time the client is told, so that is asked first.
    if (stretched) void put();
    else byId('lift-put')?.focus();
  });
  followKeys(live, lift, { put: () => void put(), leave, say });
  byId('lift-put')?.addEventListener('click', () => void put());
  byId('lift-leave')?.addEventListener('click', leave);

  // One press, one answer in place: the day does not jump to its top.
  document.addEventListener('submit', (event) => {
    const form = event.target instanceof HTMLFormElement ? event.target : null;
    const isOurs = form?.method === 'post' && form.closest('#live, #conflict-place') !== null;
    if (!form || !isOurs || sending) return;
    event.preventDefault();
    const values = new URLSearchParams(new FormData(form) as unknown as Record<string, string>);
    const button = event.submitter instanceof HTMLButtonElement ? event.submitter : null;
    if (button?.name) values.set(button.name, button.value);
    values.set('back', live.dataset['back'] ?? '/today');
    void send(form.getAttribute('action') ?? '', values);
  });
}

const live = document.querySelector<HTMLElement>('[data-live]#live');
if (live) start(live);
