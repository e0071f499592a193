import type { Readable } from 'node:stream';
import ICAL from 'ical.js';
import { blocksOf } from './content-lines.js';
import type { ImportRecord, RecordSource } from './records.js';

const HEADINGS = [
  'UID',
  'Given name',
  'Family name',
  'Full name',
  'Nickname',
  'Phone',
  'Mail',
  'Birthday',
  'Language',
  'Notes',
];

function textOf(value: unknown): string {
  const one: unknown = Array.isArray(value) ? value[0] : value;
  if (one === null || one === undefined) return '';
  return String(Array.isArray(one) ? one.join(' ') : one).trim();
}

/** The values of a property, the preferred one first: PREF in vCard 4, TYPE=pref in vCard 3. */
function valuesOf(card: ICAL.Component, name: string): string[] {
  const rank = (property: ICAL.Property): number => {
    const pref = Number(textOf(property.getParameter('pref')));
    if (pref >= 1) return pref;
    const types = [property.getParameter('type') ?? []].flat().map((type) => String(type).toLowerCase());
    if (types.includes('pref')) return 1;
    return name === 'tel' && types.includes('cell')
      ? 101
      : name === 'tel' && types.includes('fax')
        ? 103
        : 102;
  };
  return card
    .getAllProperties(name)
    .map((property, order) => ({ text: textOf(property.getFirstValue()), rank: rank(property), order }))
    .filter(({ text }) => text !== '')
    .sort((one, other) => one.rank - other.rank || one.order - other.order)
    .map(({ text }) => text);
}

/** A birthday with its year; a day without one (RFC 6350 "--0203") is no birthday that could be reckoned with. */
function birthdayOf(card: ICAL.Component): string {
  const [text = ''] = valuesOf(card, 'bday');
  const [, year, month, day] = /^(\d{4})-?(\d{2})-?(\d{2})/.exec(text) ?? [];
  return year ? `${year}-${month}-${day}` : '';
}

/** A telephone number without its URI's beginning and extension (RFC 3966). */
function phoneOf(text: string): string {
  return text
    .replace(/^tel:/i, '')
    .replace(/;(?!ext=).*$/i, '')
    .replace(/;ext=/i, ' ext. ');
}

function cellsOf(card: ICAL.Component): string[] {
  const [name] = card.getAllProperties('n');
  const parts: unknown = name?.getFirstValue();
  const [family, given, middle] = Array.isArray(parts) ? parts.map(textOf) : [];
  const whole = [given, middle].filter(Boolean).join(' ');
  const [fullName = ''] = valuesOf(card, 'fn');
  return [
    valuesOf(card, 'uid')[0] ?? '',
    whole,
    family ?? '',
    whole || family ? '' : fullName,
    valuesOf(card, 'nickname')[0] ?? '',
    phoneOf(valuesOf(card, 'tel')[0] ?? ''),
    (valuesOf(card, 'email')[0] ?? '').replace(/^mailto:/i, ''),
    birthdayOf(card),
    valuesOf(card, 'lang')[0] ?? '',
    valuesOf(card, 'note').join('\n'),
  ];
}

/**
 * The cards of a vCard file of version 3 (RFC 2426) or 4 (RFC 6350), streamed. Of several phones and mail addresses
 * the preferred one is taken. An older card says what to do about it.
 */
export function vcardRecords(text: Readable): RecordSource {
  async function* records(): AsyncGenerator<ImportRecord> {
    let row = 0;
    for await (const block of blocksOf(text, ['VCARD'])) {
      row += 1;
      yield { row, ...cardRecord(block.text) };
    }
  }
  return { headings: HEADINGS, records: records() };
}

function cardRecord(text: string): Omit<ImportRecord, 'row'> {
  const unread = (problem: string) => ({ cells: HEADINGS.map(() => ''), problem });
  if (/^VERSION:2\.1/im.test(text)) {
    return unread('This is a card of version 2.1. Export it as vCard 3.0 or 4.0.');
  }
  try {
    const parsed = ICAL.parse(text) as unknown[];
    const jcard: unknown = Array.isArray(parsed[0]) ? parsed[0] : parsed;
    return { cells: cellsOf(new ICAL.Component(jcard as string)) };
  } catch {
    return unread('This card cannot be read. Export it once more, or type this client in.');
  }
}
