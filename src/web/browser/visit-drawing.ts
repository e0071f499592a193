/** Redraws the shape as the form stands; one question at a time, always for the newest state. */
type Preview = {
  readonly figures?: readonly { readonly view: string; readonly svg: string }[];
  readonly refused?: string;
  readonly step?: string;
};

/** Ends of a burst of keys; the rest of a tenth of a second is the server's. */
const PAUSE_MS = 40;

/** Every value of the form as it would be sent. */
export function sentBy(form: HTMLFormElement): URLSearchParams {
  return new URLSearchParams(new FormData(form) as unknown as Record<string, string>);
}

function show(form: HTMLFormElement, { figures, refused, step }: Preview): void {
  const place = form.querySelector('[data-figures]');
  if (place && figures) {
    place.innerHTML = figures
      .map(({ view, svg }) => `<figure class="drawing" data-view="${view}">${svg}</figure>`)
      .join('');
  }
  place?.toggleAttribute('data-stale', figures === undefined);
  const said = form.querySelector('[data-said]');
  if (said) said.textContent = refused ?? '';
  for (const one of form.querySelectorAll<HTMLElement>('[data-step]')) {
    const wrong = one.querySelector<HTMLElement>('[data-wrong]');
    const isRefused = step !== undefined && one.dataset['step'] === step;
    one.classList.toggle('refused', isRefused);
    if (wrong) {
      wrong.hidden = !isRefused;
      wrong.textContent = isRefused ? (refused ?? '') : '';
    }
  }
}

/** Returns what to call after every change. */
export function followDrawing(form: HTMLFormElement): () => void {
  let timer: ReturnType<typeof setTimeout> | undefined;
  let asking = false;
  let drawn = sentBy(form).toString();

  const follow = async (): Promise<void> => {
    if (asking) return;
    asking = true;
    for (let sent = sentBy(form); sent.toString() !== drawn; sent = sentBy(form)) {
      try {
        const answer = await fetch(`${form.action}/drawing`, { method: 'POST', body: sent });
        if (answer.ok && !answer.redirected) show(form, (await answer.json()) as Preview);
      } catch {
        // No connection: the last drawing stays, and what is typed is kept on this device.
      }
      drawn = sent.toString();
    }
    asking = false;
  };

  return () => {
    clearTimeout(timer);
    timer = setTimeout(() => void follow(), PAUSE_MS);
  };
}
