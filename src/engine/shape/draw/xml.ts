import { EngineError } from '../../errors.js';

/** An id that can stand in an attribute, a URL fragment and a CSS selector. @throws EngineError OUT_OF_RANGE */
export function checkedId(id: string): string {
  if (/^[a-z][\w-]{0,60}$/i.test(id)) return id;
  throw new EngineError(
    'ENGINE.OUT_OF_RANGE',
    'id',
    'The id of a drawing is a letter, then letters, digits, - or _.',
  );
}

const SIGNS: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** Text as it can stand in an element or in a quoted attribute. Control characters, most of which XML forbids, become spaces. */
export function escapeXml(text: string): string {
  return text.replace(/[&<>"']|\p{Cc}/gu, (sign) => SIGNS[sign] ?? ' ');
}
