/** Moving and stretching by mouse, pen and finger. */
import type { Lift } from './day-lift.js';
import { instantAt, numberOf, ROW_MS, snapped, type Wish } from './day-scale.js';

/** A hand trembles: less than this is a press. */
const LEAST_PX = 6;
const EDGE_PX = 56;
const SCROLL_PX = 12;

type Grab = {
  readonly entry: HTMLElement;
  readonly stretches: boolean;
  readonly x: number;
  readonly y: number;
  /** From the start of the appointment to where the hand took it. */
  readonly offsetMs: number;
};

function columnAt(x: number, fallback: HTMLElement): HTMLElement {
  const columns = [...document.querySelectorAll<HTMLElement>('.day-book .entries')];
  return (
    columns.find((column) => {
      const { left, right } = column.getBoundingClientRect();
      return left <= x && x < right;
    }) ?? fallback
  );
}

/** The appointment that is meant by what was touched: the block itself or, of a later part, the first one. */
function entryFor(target: Element): HTMLElement | null {
  const part = target.closest<HTMLElement>('.part');
  const entry = part
    ? document.getElementById(`a-${part.dataset['of'] ?? ''}`)
    : target.closest<HTMLElement>('.entry');
  return entry?.matches('[data-movable]') ? entry : null;
}

/** `dropped` hears when a hand lets go; `stretched` tells whether only the length was pulled at. */
export function followHand(live: HTMLElement, lift: Lift, dropped: (stretched: boolean) => void): void {
  let grab: Grab | undefined;
  let isDragging = false;
  let scrolling = 0;
  let last: PointerEvent | undefined;

  const wishAt = ({ entry, stretches, offsetMs }: Grab, event: PointerEvent): Wish | undefined => {
    const was = lift.lifted?.was;
    if (!was) return undefined;
    if (stretches) {
      const at = instantAt(was.column, event.clientY);
      return { ...was, endsAt: Math.max(Math.round(at / ROW_MS) * ROW_MS, was.startsAt + ROW_MS) };
    }
    const column = columnAt(event.clientX, was.column);
    const lengthMs = was.endsAt - was.startsAt;
    const at = instantAt(column, event.clientY) - offsetMs;
    const startsAt = snapped(column, at, lengthMs, entry.dataset['id'] ?? '');
    return { column, startsAt, endsAt: startsAt + lengthMs };
  };

  const follow = (): void => {
    if (!grab || !last || !isDragging) return;
    const wish = wishAt(grab, last);
    if (wish) lift.wishFor(wish);
  };

  const scroll = (): void => {
    if (!isDragging || !last) return;
    const down = last.clientY > window.innerHeight - EDGE_PX;
    const up = last.clientY < EDGE_PX;
    if (down || up) {
      window.scrollBy(0, down ? SCROLL_PX : -SCROLL_PX);
      follow();
    }
    scrolling = requestAnimationFrame(scroll);
  };

  const stop = (): void => {
    grab = undefined;
    isDragging = false;
    cancelAnimationFrame(scrolling);
    document.body.classList.remove('dragging');
  };

  live.addEventListener('pointerdown', (event) => {
    const target = event.target instanceof Element ? event.target : null;
    if (!target || event.button !== 0 || grab) return;
    const onHandle = target.closest('.grip, .edge') !== null;
    // A finger scrolls, except on the handles; a mouse takes a block anywhere but on what can be pressed.
    if (!onHandle && (event.pointerType === 'touch' || target.closest('a, button, summary, input, details')))
      return;
    const entry = entryFor(target);
    const column = entry?.closest<HTMLElement>('.entries');
    if (!entry || !column) return;
    if (!onHandle) event.preventDefault();
    const offsetMs = instantAt(column, event.clientY) - numberOf(entry, 'startsAt');
    const stretches = target.closest('.edge') !== null;
    grab = { entry, stretches, x: event.clientX, y: event.clientY, offsetMs };
  });

  window.addEventListener('pointermove', (event) => {
    if (!grab) return;
    last = event;
    if (!isDragging) {
      if (Math.hypot(event.clientX - grab.x, event.clientY - grab.y) < LEAST_PX) return;
      lift.take(grab.entry);
      isDragging = true;
      document.body.classList.add('dragging');
      scrolling = requestAnimationFrame(scroll);
    }
    event.preventDefault();
    follow();
  });

  window.addEventListener('pointerup', () => {
    if (!grab) return;
    const { stretches } = grab;
    const wasDragging = isDragging;
    stop();
    if (!wasDragging) return;
    // The press that ends a drag on a handle is no press of the handle.
    const swallow = (event: Event): void => {
      event.stopPropagation();
      event.preventDefault();
    };
    window.addEventListener('click', swallow, { capture: true, once: true });
    setTimeout(() => window.removeEventListener('click', swallow, { capture: true }));
    dropped(stretches);
  });

  window.addEventListener('pointercancel', () => {
    if (isDragging) lift.leave();
    stop();
  });

  window.addEventListener('keydown', (event) => {
    if (event.key === 'Escape') stop();
  });

  // Taken by a press, an appointment goes where the next press in a column is.
  live.addEventListener('click', (event) => {
    const { lifted } = lift;
    const target = event.target instanceof Element ? event.target : null;
    const column = target?.closest<HTMLElement>('.entries');
    if (!lifted || !column || target?.closest('.grip')) return;
    event.preventDefault();
    const lengthMs = lifted.wish.endsAt - lifted.wish.startsAt;
    const startsAt = snapped(column, instantAt(column, event.clientY), lengthMs, lifted.id);
    lift.wishFor({ column, startsAt, endsAt: startsAt + lengthMs }, true);
  });
}
