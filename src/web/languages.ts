import type { Option } from './words.js';

/** Languages offered for writing to a client, as BCP 47; any other tag that is on record is kept. */
const OFFERED =
  'ar bg bn cs cy da de el en es et fa fi fr ga gu he hi hr hu it ja ko lt lv nb nl pa pl pt ro ru sk sl so sq sr sv ta th tr uk ur vi zh';

const names = new Intl.DisplayNames('en', { type: 'language' });

function nameOf(tag: string): string {
  try {
    return names.of(tag) ?? tag;
  } catch {
    // Typed, not chosen: the form says what is wrong with it.
    return tag;
  }
}

/** By their English names; with `present`, what the client has now. */
export function languageOptions(present = ''): Option[] {
  const tags = new Set([...OFFERED.split(' '), ...(present === '' ? [] : [present])]);
  return [...tags]
    .map((value) => ({ value, label: nameOf(value) }))
    .sort((a, b) => a.label.localeCompare(b.label, 'en'));
}
