/** Moves the card's figures to the day under the slider; without it the links and the date field draw the same. */
type Answer = {
  readonly words: string;
  readonly figures?: readonly { readonly view: string; readonly svg: string }[];
  readonly refused?: string;
};

const DAY_MS = 86_400_000;

function dayOf(from: string, days: number): string {
  return new Date(Date.parse(`${from}T00:00:00Z`) + days * DAY_MS).toISOString().slice(0, 10);
}

function start(shape: HTMLElement, address: string, slide: HTMLInputElement): void {
  const said = shape.querySelector('[data-shown]');
  const seen = new Map<string, Answer>();
  let asking = false;

  const show = (answer: Answer): void => {
    for (const { view, svg } of answer.figures ?? []) {
      const place = shape.querySelector(`figure[data-view="${view}"] > div`);
      if (place) place.innerHTML = svg;
    }
    if (said) said.textContent = answer.refused ?? answer.words;
    for (const link of shape.querySelectorAll('nav [aria-current]')) link.removeAttribute('aria-current');
  };

  const ask = async (on: string): Promise<Answer | undefined> => {
    try {
      const answer = await fetch(`${address}?on=${on}`);
      return answer.ok && !answer.redirected ? ((await answer.json()) as Answer) : undefined;
    } catch {
      return undefined;
    }
  };

  // One question at a time, always for where the slider then stands: it never lags behind a hand.
  const follow = async (): Promise<void> => {
    if (asking) return;
    asking = true;
    let on: string;
    do {
      on = dayOf(slide.dataset['from'] ?? '', slide.valueAsNumber);
      const answer = seen.get(on) ?? (await ask(on));
      if (!answer) {
        if (said) said.textContent = 'No connection just now: the drawing has not moved.';
        break;
      }
      seen.set(on, answer);
      show(answer);
    } while (on !== dayOf(slide.dataset['from'] ?? '', slide.valueAsNumber));
    asking = false;
  };

  slide.addEventListener('input', () => void follow());
  slide.closest('[hidden]')?.removeAttribute('hidden');
}

for (const shape of document.querySelectorAll<HTMLElement>('[data-shape]')) {
  const slide = shape.querySelector<HTMLInputElement>('input[type="range"]');
  if (slide) start(shape, shape.dataset['shape'] ?? '', slide);
}

export {};
