import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from '@jest/globals';
import { projectRoot } from '../../src/base/index.js';

const ROOT = projectRoot();
const STATES = ['met', 'part', 'no', 'n.a.', 'operator'];

/**
 * Highest requirement of levels 1 and 2 by section, with those of level 3 in between taken out. From the CSV of
 * OWASP ASVS 5.0.0 (5.0/docs_en of its repository). Chapters 10 and 17 are answered as a whole.
 */
const SECTIONS: Readonly<Record<string, number>> = {
  '1.1': 2,
  '1.2': 9,
  '1.3': 11,
  '1.4': 3,
  '1.5': 2,
  '2.1': 3,
  '2.2': 3,
  '2.3': 4,
  '2.4': 1,
  '3.2': 2,
  '3.3': 4,
  '3.4': 6,
  '3.5': 5,
  '3.7': 2,
  '4.1': 3,
  '4.2': 1,
  '4.3': 2,
  '4.4': 4,
  '5.1': 1,
  '5.2': 3,
  '5.3': 2,
  '5.4': 3,
  '6.1': 3,
  '6.2': 12,
  '6.3': 4,
  '6.4': 4,
  '6.5': 5,
  '6.6': 3,
  '6.8': 4,
  '7.1': 3,
  '7.2': 4,
  '7.3': 2,
  '7.4': 5,
  '7.5': 2,
  '7.6': 2,
  '8.1': 2,
  '8.2': 3,
  '8.3': 1,
  '8.4': 1,
  '9.1': 3,
  '9.2': 4,
  '11.1': 2,
  '11.2': 3,
  '11.3': 3,
  '11.4': 4,
  '11.5': 1,
  '11.6': 1,
  '12.1': 3,
  '12.2': 2,
  '12.3': 4,
  '13.1': 1,
  '13.2': 5,
  '13.3': 2,
  '13.4': 5,
  '14.1': 2,
  '14.2': 4,
  '14.3': 3,
  '15.1': 3,
  '15.2': 3,
  '15.3': 7,
  '16.1': 1,
  '16.2': 5,
  '16.3': 4,
  '16.4': 3,
  '16.5': 3,
};

type Row = { readonly id: string; readonly state: string; readonly shown: string };

/** Rows of a Markdown table whose first column is a number of the standard. */
function rowsOf(text: string): Row[] {
  return text.split('\n').flatMap((line) => {
    const [, id = '', , state = '', shown = ''] = line.split('|').map((cell) => cell.trim());
    return /^\d[\d.]*$/.test(id) ? [{ id, state: state.replace(/`/g, ''), shown }] : [];
  });
}

/** What is wrong with a row; nothing when all it names is there. */
function faultsOf({ id, state, shown }: Row): string[] {
  if (!STATES.includes(state)) return [`${id}: no such state as ${state}`];
  const names = [...shown.matchAll(/`([^`]+)`/g)].map(([, name]) => name ?? '');
  if ((state === 'met' || state === 'part') && names.length === 0) return [`${id}: names nothing`];
  if (shown === '') return [`${id}: says nothing`];
  return names.flatMap((name) => {
    const [file = '', title] = name.split('#', 2);
    const path = join(ROOT, file);
    if (!existsSync(path)) return [`${id}: there is no ${file}`];
    if (title === undefined) return [];
    const text = readFileSync(path, 'utf8');
    const quoted = [`'${title}'`, `"${title}"`, `\`${title}\``];
    const stands = quoted.some((quote) => text.includes(`(${quote}`) || text.includes(`${quote},`));
    return stands ? [] : [`${id}: ${file} has no test "${title}"`];
  });
}

describe('the table of OWASP ASVS 5.0.0', () => {
  const rows = rowsOf(readFileSync(join(ROOT, 'test/security/asvs.md'), 'utf8'));

  it('lists every requirement of levels 1 and 2 once', () => {
    const asked = Object.entries(SECTIONS).flatMap(([section, last]) =>
      Array.from({ length: last }, (_, i) => `${section}.${i + 1}`),
    );
    expect(rows.map(({ id }) => id).sort()).toEqual([...asked, '10', '17'].sort());
  });

  it('names only files and tests that are there', () => {
    expect(rows.flatMap(faultsOf)).toEqual([]);
  });

  it('would notice a missing file, a missing test and an empty claim', () => {
    const row = (state: string, shown: string) => faultsOf({ id: '0.0.0', state, shown });
    expect(row('met', '`test/none.spec.ts`')).toEqual(['0.0.0: there is no test/none.spec.ts']);
    expect(row('met', '`test/security/asvs.spec.ts#proves nothing`')).toHaveLength(1);
    expect(row('met', 'trust us')).toEqual(['0.0.0: names nothing']);
    expect(row('fine', '`README.md`')).toEqual(['0.0.0: no such state as fine']);
    expect(row('met', '`test/security/asvs.spec.ts#names only files and tests that are there`')).toEqual([]);
  });
});
