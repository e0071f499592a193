/** An appointment in the hand: where it was, where it shall go, and the two ways out. */
import { clockIn, numberOf, placeOf, type Wish } from './day-scale.js';

const MINUTE_MS = 60_000;
const SHORTEST_MS = 5 * MINUTE_MS;

export type Lifted = {
  readonly id: string;
  readonly name: string;
  readonly version: string;
  readonly was: Wish;
  readonly wish: Wish;
};

type Places = {
  readonly bar: HTMLElement;
  readonly name: HTMLElement;
  readonly wish: HTMLElement;
  readonly was: HTMLElement;
};

const byId = (id: string): HTMLElement => document.getElementById(id) ?? document.createElement('div');

export class Lift {
  private now: Lifted | undefined;
  private ghost: HTMLLIElement | undefined;
  private readonly clock: (instant: number) => string;
  private readonly places: Places = {
    bar: byId('lift-bar'),
    name: byId('lift-name'),
    wish: byId('lift-wish'),
    was: byId('lift-was'),
  };

  constructor(
    live: HTMLElement,
    private readonly say: (words: string) => void,
  ) {
    this.clock = clockIn(live.dataset['zone'] ?? 'UTC');
  }

  get lifted(): Lifted | undefined {
    return this.now;
  }

  get isChanged(): boolean {
    if (!this.now) return false;
    const { was, wish } = this.now;
    return was.startsAt !== wish.startsAt || was.endsAt !== wish.endsAt || was.column !== wish.column;
  }

  take(entry: HTMLElement): void {
    this.leave();
    const column = entry.closest<HTMLElement>('.entries');
    if (!column) return;
    const was = { column, startsAt: numberOf(entry, 'startsAt'), endsAt: numberOf(entry, 'endsAt') };
    const { id = '', name = '', version = '' } = entry.dataset;
    this.now = { id, name, version, was, wish: was };
    entry.classList.add('lifted');
    this.show();
  }

  /** Says the wish when keys made it; a hand sees it. */
  wishFor(wish: Wish, aloud = false): void {
    if (!this.now) return;
    this.now = { ...this.now, wish: { ...wish, endsAt: Math.max(wish.endsAt, wish.startsAt + SHORTEST_MS) } };
    this.show();
    if (aloud) this.say(this.words(this.now.wish));
  }

  words({ startsAt, endsAt, column }: Wish): string {
    return `${this.clock(startsAt)}–${this.clock(endsAt)}, ${column.dataset['called'] ?? ''}`;
  }

  /** Puts everything back as it was drawn. */
  leave(): void {
    this.ghost?.remove();
    this.ghost = undefined;
    this.now = undefined;
    this.places.bar.hidden = true;
    for (const entry of document.querySelectorAll('.lifted')) entry.classList.remove('lifted');
  }

  private show(): void {
    if (!this.now) return;
    const { name, was, wish } = this.now;
    this.ghost ??= document.createElement('li');
    this.ghost.className = `ghost ${placeOf(wish)}`;
    this.ghost.textContent = `${this.clock(wish.startsAt)}–${this.clock(wish.endsAt)} ${name}`;
    this.ghost.setAttribute('aria-hidden', 'true');
    if (this.ghost.parentElement !== wish.column) wish.column.append(this.ghost);
    this.places.bar.hidden = false;
    this.places.name.textContent = name;
    this.places.wish.textContent = this.words(wish);
    const isElsewhere = was.startsAt !== wish.startsAt || was.column !== wish.column;
    const told = isElsewhere ? ' The client is told of the new time.' : '';
    this.places.was.textContent = this.isChanged ? `was ${this.words(was)}.${told}` : 'where it is now';
  }
}
