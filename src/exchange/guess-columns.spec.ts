import { describe, expect, it } from '@jest/globals';
import { guessColumns } from './guess-columns.js';
import { IMPORT_FIELDS, IMPORT_KINDS } from './kinds.js';

describe('guessing columns', () => {
  it.each([
    [
      'clients',
      'Kunden-Nr.;Vorname;Nachname;Telefon;E-Mail;Geburtsdatum;Notizen',
      'number givenName familyName phone email birthday notes',
    ],
    [
      'clients',
      'FIRST NAME;SURNAME;Mobile Phone;e-mail;D.O.B.;Allergies',
      'givenName familyName phone email birthday healthNotes',
    ],
    ['visits', 'Client;Date;Service;Stylist;Price', 'name date service stylist price'],
    [
      'lengths',
      'Client no;Cut on;Fringe;Top;Crown;Left side;Right side;Back;Nape',
      'number date zone.fringe zone.top zone.crown zone.left-side zone.right-side zone.back zone.nape',
    ],
    [
      'skin-tests',
      'Name;Date applied;Product line;Result;Read on',
      'name appliedOn productLine result readOn',
    ],
    ['appointments', 'UID;Start;End;Client;Summary;Guest name;Guest mail', 'booking start end name email'],
  ] as const)('%s: %s', (kind, headings, keys) => {
    const columns = headings.split(';');
    const mapping = guessColumns(columns, IMPORT_FIELDS[kind]);
    const byColumn = Object.entries(mapping).sort((one, other) => one[1] - other[1]);
    const wanted = new Set(keys.split(' '));
    expect(new Set(byColumn.map(([key]) => key))).toEqual(wanted);
  });

  it('gives no column to two fields, and none to a heading that means nothing', () => {
    for (const kind of IMPORT_KINDS) {
      const labels = IMPORT_FIELDS[kind].flatMap(({ words }) => words.slice(0, 1));
      const mapping = guessColumns([...labels, 'Shoe size', ''], IMPORT_FIELDS[kind]);
      const columns = Object.values(mapping);
      expect(new Set(columns).size).toBe(columns.length);
      expect(columns).not.toContain(labels.length);
      expect(columns).not.toContain(labels.length + 1);
    }
  });
});
