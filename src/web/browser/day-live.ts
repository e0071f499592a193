/** Shows what other desks do, without taking anything out of a hand: a drag, a half-typed form, an open fold. */
import { Idiomorph } from 'idiomorph';

type News = {
  readonly version: string;
  readonly stretches: readonly { startsAt: number; endsAt: number }[] | null;
};

/** Lateness goes by the clock: the page looks again even when nobody changes anything. */
const LOOK_AGAIN_MS = 60_000;
const AFTER_FAILURE_MS = 5000;
/** How often a hand is looked at whether it has let go. */
const ASK_AGAIN_MS = 500;

/** Takes over what another rendering of the same page shows. */
export function showNewer(live: HTMLElement, page: Document): void {
  const newer = page.getElementById(live.id);
  if (!newer) return;
  void Idiomorph.morph(live, newer, {
    morphStyle: 'outerHTML',
    ignoreActiveValue: true,
    callbacks: {
      // What is folded open here stays open.
      beforeAttributeUpdated: (name: string, node: Element) => !(name === 'open' && node.matches('details')),
    },
  });
}

function isTypedInto(live: HTMLElement): boolean {
  const { activeElement } = document;
  return (
    activeElement !== null && live.contains(activeElement) && activeElement.matches('input, textarea, select')
  );
}

export class Follower {
  private source: EventSource | undefined;
  private version: string;
  private isStale = false;
  private looking = false;
  private isOver = false;
  private waiting: ReturnType<typeof setTimeout> | undefined;

  /** `isBusy` says when somebody has something in the hand; `ended` hears that nobody is signed in here any more. */
  constructor(
    private readonly live: HTMLElement,
    private readonly isBusy: () => boolean,
    private readonly ended: () => void,
  ) {
    this.version = live.dataset['version'] ?? '';
    const awake = (): void => (document.visibilityState === 'visible' ? this.open() : this.close());
    document.addEventListener('visibilitychange', awake);
    window.addEventListener('pagehide', () => this.close());
    window.addEventListener('pageshow', awake);
    setInterval(() => document.visibilityState === 'visible' && this.stale(), LOOK_AGAIN_MS);
    awake();
  }

  /** Something may have changed: looks as soon as nobody has anything in the hand. */
  stale(): void {
    this.isStale = true;
    this.settle();
  }

  /** To be called when a hand has let go. */
  settle(): void {
    clearTimeout(this.waiting);
    if (this.isOver || !this.isStale || this.looking) return;
    if (this.isBusy() || isTypedInto(this.live)) {
      this.waiting = setTimeout(() => this.settle(), ASK_AGAIN_MS);
    } else void this.look();
  }

  /** A page in the background keeps no connection: browsers allow six to a site, over all their tabs. */
  private open(): void {
    if (this.source) return;
    const { salon = '' } = this.live.dataset;
    const source = new EventSource(`/salons/${salon}/changes?since=${encodeURIComponent(this.version)}`);
    source.addEventListener('book', ({ data }: MessageEvent<string>) => {
      const { version, stretches } = JSON.parse(data) as News;
      this.version = version;
      const startsAt = Number(this.live.dataset['startsAt']);
      const endsAt = Number(this.live.dataset['endsAt']);
      const concerns = stretches?.some((one) => one.startsAt < endsAt && one.endsAt > startsAt) ?? true;
      if (concerns) this.stale();
    });
    // What was refused for good is asked again; a lost connection the browser sees to by itself.
    source.addEventListener('error', () => {
      if (source.readyState !== EventSource.CLOSED || this.source !== source) return;
      this.source = undefined;
      this.stale();
      setTimeout(
        () => document.visibilityState === 'visible' && !this.isOver && this.open(),
        AFTER_FAILURE_MS,
      );
    });
    this.source = source;
  }

  private close(): void {
    this.source?.close();
    this.source = undefined;
  }

  private over(): void {
    this.isOver = true;
    this.close();
    this.ended();
  }

  private async look(): Promise<void> {
    this.looking = true;
    this.isStale = false;
    try {
      const answer = await fetch(location.href.split('#')[0] ?? '', { headers: { 'x-by-itself': '1' } });
      const isSame = answer.ok && !answer.redirected;
      if (answer.redirected && new URL(answer.url).pathname === '/sign-in') this.over();
      const page = isSame ? new DOMParser().parseFromString(await answer.text(), 'text/html') : undefined;
      // Taken up meanwhile: it is shown when it has been put down.
      if (page && (this.isBusy() || isTypedInto(this.live))) this.isStale = true;
      else if (page) showNewer(this.live, page);
    } catch {
      setTimeout(() => this.stale(), AFTER_FAILURE_MS);
    }
    this.looking = false;
    if (this.isStale) this.settle();
  }
}
