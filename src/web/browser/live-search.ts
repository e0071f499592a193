/** Searches while a name is typed; without it the same form is sent by its button. */
const PAUSE_MS = 200;

function start(form: HTMLFormElement, results: Element): void {
  let timer: ReturnType<typeof setTimeout> | undefined;
  let running: AbortController | undefined;

  const search = async (): Promise<void> => {
    running?.abort();
    running = new AbortController();
    const query = new URLSearchParams(new FormData(form) as unknown as Record<string, string>);
    const address = `${form.action.split('?')[0] ?? ''}?${query.toString()}`;
    try {
      const answer = await fetch(address, { signal: running.signal });
      if (!answer.ok || answer.redirected) return;
      const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
      const found = page.getElementById(results.id);
      if (!found) return;
      results.replaceChildren(...found.childNodes);
      history.replaceState(null, '', address);
    } catch {
      // Typed on, or no connection: the button still works.
    }
  };

  const soon = (): void => {
    clearTimeout(timer);
    timer = setTimeout(() => void search(), PAUSE_MS);
  };
  form.addEventListener('input', soon);
  // On a slow line somebody has typed before this script was there.
  const boxes = [...form.elements].filter((one) => one instanceof HTMLInputElement);
  if (boxes.some(({ value, defaultValue }) => value !== defaultValue)) soon();
}

for (const form of document.querySelectorAll<HTMLFormElement>('form[data-live]')) {
  const results = document.querySelector(form.dataset['live'] ?? '');
  if (results) start(form, results);
}
