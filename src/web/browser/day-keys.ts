/** Moving and stretching by keys; the page lists them beside the book. */
import type { Lift, Lifted } from './day-lift.js';
import { boundsOf, ROW_MS, type Wish } from './day-scale.js';

const HALF_HOUR_MS = 6 * ROW_MS;

function besides(column: HTMLElement, step: 1 | -1): HTMLElement | undefined {
  const columns = [...document.querySelectorAll<HTMLElement>('.day-book .entries')];
  return columns[columns.indexOf(column) + step];
}

function wishBy({ key, shiftKey }: KeyboardEvent, { wish }: Lifted): Wish | undefined {
  const later = (ms: number): Wish => ({ ...wish, startsAt: wish.startsAt + ms, endsAt: wish.endsAt + ms });
  const longer = (ms: number): Wish => ({
    ...wish,
    endsAt: Math.max(wish.endsAt + ms, wish.startsAt + ROW_MS),
  });
  const across = (step: 1 | -1): Wish | undefined => {
    const column = besides(wish.column, step);
    if (!column) return undefined;
    // In a week the columns are days: the same time on another.
    const shift = boundsOf(column).from - boundsOf(wish.column).from;
    return { column, startsAt: wish.startsAt + shift, endsAt: wish.endsAt + shift };
  };
  switch (key) {
    case 'ArrowDown':
      return shiftKey ? longer(ROW_MS) : later(ROW_MS);
    case 'ArrowUp':
      return shiftKey ? longer(-ROW_MS) : later(-ROW_MS);
    case 'PageDown':
      return later(HALF_HOUR_MS);
    case 'PageUp':
      return later(-HALF_HOUR_MS);
    case 'ArrowLeft':
      return across(-1);
    case 'ArrowRight':
      return across(1);
    default:
      return undefined;
  }
}

export function followKeys(
  live: HTMLElement,
  lift: Lift,
  { put, leave, say }: { put: () => void; leave: () => void; say: (words: string) => void },
): void {
  live.addEventListener('click', (event) => {
    const grip = event.target instanceof Element ? event.target.closest<HTMLElement>('.grip') : null;
    const entry = grip?.closest<HTMLElement>('.entry');
    if (!entry) return;
    if (lift.lifted?.id === entry.dataset['id']) return put();
    lift.take(entry);
    const taken = lift.lifted;
    if (taken)
      say(
        `${taken.name} taken up, ${lift.words(taken.was)}. Arrows move it, Enter puts it down, Escape leaves it.`,
      );
  });

  document.addEventListener('keydown', (event) => {
    const { lifted } = lift;
    if (!lifted) return;
    const inBar = event.target instanceof Element && event.target.closest('#lift-bar') !== null;
    if (event.key === 'Escape') {
      event.preventDefault();
      leave();
      return;
    }
    // Enter and space are the pressed button's own.
    if (inBar && (event.key === 'Enter' || event.key === ' ')) return;
    const wish = wishBy(event, lifted);
    if (!wish) return;
    event.preventDefault();
    lift.wishFor(wish, true);
  });
}
