/** What is typed to search with becomes a new client's name or number, unless those were written by hand. */
const search = document.querySelector<HTMLInputElement>('#q');
const form = document.querySelector<HTMLFormElement>('form#new');

if (search && form) {
  const boxOf = (name: string): HTMLInputElement | null => form.querySelector(`input[name="${name}"]`);
  const written = new Set<string>();
  form.addEventListener('input', ({ target }) => {
    if (target instanceof HTMLInputElement) written.add(target.name);
  });
  search.addEventListener('input', () => {
    const text = search.value.trim();
    const [givenName = '', ...rest] = text.split(/\s+/);
    const guess: Record<string, string> = /^[+(\d]/.test(text)
      ? { phone: text, givenName: '', familyName: '' }
      : { phone: '', givenName, familyName: rest.join(' ') };
    for (const [name, value] of Object.entries(guess)) {
      const box = boxOf(name);
      if (box && !written.has(name)) box.value = value;
    }
  });
}

/** What is chosen counts at once, however quickly a button is pressed after it. */
for (const select of document.querySelectorAll<HTMLSelectElement>('form[data-live] select')) {
  select.addEventListener('change', () => {
    const copies = document.querySelectorAll<HTMLInputElement>(`input[type="hidden"][name="${select.name}"]`);
    for (const copy of copies) copy.value = select.value;
  });
}

export {};
