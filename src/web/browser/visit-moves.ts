/** Moves, removes and adds steps in place; what is removed can be put back. */

function renumber(form: HTMLFormElement): void {
  const steps = [...form.querySelectorAll<HTMLFieldSetElement>('[data-step]')].filter((one) => !one.disabled);
  steps.forEach((step, i) => {
    for (const place of step.querySelectorAll('[data-place]')) place.textContent = String(i + 1);
    const [up, down] = step.querySelectorAll<HTMLButtonElement>('.step-acts button');
    if (up) up.disabled = i === 0;
    if (down) down.disabled = i === steps.length - 1;
    const zone = step.querySelector<HTMLSelectElement>('select[name$=".zone"]');
    const words = zone?.value ? (zone.selectedOptions[0]?.text ?? '') : 'New step';
    const name = step.querySelector('[data-zone]');
    if (name) name.textContent = words;
    const legend = step.querySelector('legend');
    if (legend) legend.textContent = `Step ${i + 1}, ${words}`;
    const done = form.querySelector<HTMLSelectElement>(`select[name="done.${zone?.value ?? ''}"]`);
    step.querySelector('[data-grows]')?.toggleAttribute('hidden', done?.value !== 'grow');
  });
}

function takeOut(step: HTMLFieldSetElement, changed: () => void): void {
  step.disabled = true;
  step.hidden = true;
  const line = document.createElement('p');
  line.className = 'row step-gone';
  line.append('Step removed. ');
  const back = document.createElement('button');
  back.type = 'button';
  back.className = 'quiet';
  back.textContent = 'Put it back';
  back.addEventListener('click', () => {
    step.disabled = false;
    step.hidden = false;
    line.remove();
    changed();
    step.querySelector('summary')?.focus();
  });
  line.append(back);
  step.after(line);
  back.focus();
}

function addStep(form: HTMLFormElement): HTMLFieldSetElement | null {
  const steps = form.querySelector('[data-steps]');
  const blank = document.querySelector<HTMLTemplateElement>('#blank-step');
  if (!steps || !blank) return null;
  const numbers = [...form.querySelectorAll<HTMLElement>('[data-step^="n"]')].map((one) =>
    Number(one.dataset['step']?.slice(1)),
  );
  const key = `n${Math.max(0, ...numbers) + 1}`;
  const holder = document.createElement('div');
  holder.innerHTML = blank.innerHTML.replaceAll(/(step[.:-]|:|data-step=")n0\b/g, `$1${key}`);
  const step = holder.querySelector('fieldset');
  if (!step) return null;
  steps.querySelector('[data-empty]')?.remove();
  steps.append(step);
  return step;
}

/** Steps under the hand; `changed` is called whenever their order or number changed. */
export function moveSteps(form: HTMLFormElement, changed: () => void): void {
  const done = (): void => {
    renumber(form);
    changed();
  };
  form.addEventListener('change', () => renumber(form));
  form.addEventListener('click', (event) => {
    const button = event.target instanceof Element ? event.target.closest('button[name="do"]') : null;
    const [verb = ''] = (button?.getAttribute('value') ?? '').split(':');
    const step = button?.closest<HTMLFieldSetElement>('[data-step]');
    if (verb === 'draw') {
      event.preventDefault();
      changed();
    } else if (verb === 'add-step') {
      event.preventDefault();
      const added = addStep(form);
      done();
      added?.querySelector<HTMLSelectElement>('select')?.focus();
    } else if (step && (verb === 'up' || verb === 'down')) {
      event.preventDefault();
      const sibling = (from: Element): Element | null =>
        verb === 'up' ? from.previousElementSibling : from.nextElementSibling;
      let beside = sibling(step);
      while (beside && !(beside instanceof HTMLFieldSetElement && !beside.disabled)) beside = sibling(beside);
      if (verb === 'up') beside?.before(step);
      else beside?.after(step);
      done();
      // A button that has become impossible hands the focus to its neighbour.
      const acts = [...step.querySelectorAll<HTMLButtonElement>('.step-acts button:not(:disabled)')];
      (acts.find((one) => one === button) ?? acts[0])?.focus();
    } else if (step && verb === 'drop') {
      event.preventDefault();
      takeOut(step, done);
      done();
    }
  });
}
